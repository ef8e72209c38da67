// The core's other door, for commissioning: the guard as it is, and no phase. What is wanted is not worked out by a process
// but said by whoever leads a person through the steps: one output by itself, or one route. The guard forbids it all the same.
import type { Plant } from '../station/plant.ts';
import type { Alone } from './guard/alone.ts';
import type { Wants } from './guard/commands.ts';
import { act, forbid, observe } from './guard/guard.ts';
import { message } from './guard/message.ts';
import type { Effect, Event, Request } from './guard/types.ts';
import { alarms } from './process/alarms.ts';
import { draftOf } from './process/draft.ts';
import { answer } from './process/requests.ts';
import type { State } from './process/state.ts';
import { report, type Stepped } from './step.ts';

/** What a step of commissioning would like to run now; null: nothing. */
export type Tried =
  | null
  | ({ readonly what: 'output' } & Alone)
  /** With exactly the outputs that open it, and with every row at work. */
  | { readonly what: 'route'; readonly route: string };

/** What people may ask meanwhile: nothing that would start something, or move what the steps rest on. */
const MAY_BE_ASKED: readonly Request['ask'][] = ['reset-trip', 'acknowledge', 'shelve', 'unshelve'];

/** As `step`, with `tried` in the place of the phases. */
export function stepCommissioning(plant: Plant, state: State, event: Event, tried: Tried): Stepped {
  const { elapsedMs, inputs, tick } = event;
  const draft = draftOf(state);
  const ended = observe(plant, draft, event);
  const answers: Effect[] = [];
  for (const input of inputs)
    if (input.type === 'request')
      answers.push(
        ...(MAY_BE_ASKED.includes(input.request.ask)
          ? answer(plant, draft, input.id, input.request)
          : [
              {
                do: 'answer' as const,
                request: input.id,
                accepted: false,
                words: message('commissioning-under-way'),
              },
            ]),
      );
  const { holding, tested } = forbid(plant, draft, elapsedMs);
  const raised = alarms(plant, draft, elapsedMs, holding);
  const effects = act(plant, draft, wantsOf(tried), tick);
  return {
    state: draft,
    effects: [...effects, ...answers, ...ended, ...tested, ...raised, ...report(state, draft)],
  };
}

function wantsOf(tried: Tried): Wants {
  if (tried === null) return { targets: [], signals: [] };
  if (tried.what === 'route') return { targets: [tried.route], signals: [] };
  return { targets: [], signals: [], alone: tried };
}
