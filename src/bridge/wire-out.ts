// What the service says, as messages: pure, one function for each thing said. Commands are in outbox.ts.
import type { Effect } from '../control/guard/types.ts';
import { alarmText, type Response, type Sentence, type Told } from '../language/told.ts';
import type { Outgoing } from './message.ts';
import type { Answer } from './requests.ts';

export interface Topics {
  readonly status: string;
  readonly record: string;
  readonly request: string;
  readonly answer: string;
  readonly online: string;
  readonly heartbeat: string;
  readonly time: string;
  readonly timeNudge: string;
  readonly timeDone: string;
  readonly task: (vessel: string) => string;
  readonly alarm: (alarm: string) => string;
  /** What earlier runs may have left behind: the only wildcards we use, under our own prefix (R21). */
  readonly leftBehind: readonly string[];
}

export function topicsOf(station: string): Topics {
  const root = `vatwarden/${station}`;
  return {
    status: `${root}/status`,
    record: `${root}/record`,
    request: `${root}/request`,
    answer: `${root}/answer`,
    online: `${root}/online`,
    heartbeat: `${root}/heartbeat`,
    time: `${root}/time`,
    timeDone: `${root}/time/done`,
    timeNudge: `${root}/time/nudge`,
    task: (vessel) => `${root}/task/${vessel}`,
    alarm: (alarm) => `${root}/alarm/${levelOf(alarm)}`,
    leftBehind: [`${root}/alarm/+`, `${root}/task/+`],
  };
}

/** `I-02/fresh` is one level of a topic: `I-02-fresh`. Wildcards have no place in a topic either. */
function levelOf(id: string): string {
  return id.replaceAll(/[/+#]/gu, '-');
}

export interface Alarm {
  readonly alarm: string;
  readonly state: string;
  readonly priority: string;
  readonly message: Sentence;
  readonly response: Response;
}

/** Everything but commands, and the results of proof tests: those are for the journal, and a record tells of them. */
export type Report = Exclude<Effect, { readonly do: 'command' | 'proof-test' }>;

export function messageOf(topics: Topics, report: Told<Report>): Outgoing {
  switch (report.do) {
    case 'ask':
      return {
        topic: topics.task(report.vessel),
        payload: report.task === null ? '' : JSON.stringify(report.task),
        retain: true,
      };
    case 'alarm':
      return alarmMessage(topics, report);
    case 'answer':
      return answerMessage(topics, {
        id: report.request,
        accepted: report.accepted,
        message: report.message,
      });
    case 'record':
      return {
        topic: topics.record,
        payload: JSON.stringify({ about: report.about, message: report.message }),
        retain: false,
      };
  }
}

/** `text` is the whole of it for a notification, with the electricity first where water and mains may meet. */
export function alarmMessage(topics: Topics, { alarm, state, priority, message, response }: Alarm): Outgoing {
  const text = alarmText(message, response);
  const payload = state === 'normal' ? '' : JSON.stringify({ state, priority, text, message, response });
  return { topic: topics.alarm(alarm), payload, retain: true };
}

export function answerMessage(topics: Topics, { id, accepted, message }: Answer): Outgoing {
  return { topic: topics.answer, payload: JSON.stringify({ id, accepted, message }), retain: false };
}
