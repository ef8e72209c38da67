// What arrived since the last step, bounded (R19).
//
// A flood must cost memory and time that are known beforehand, and must not make old readings look new. Numbers are
// levels, so only the newest counts. Contacts, feedback and other people's commands are kept in order, every change of
// them, up to a bound a station never reaches: beyond it the device is chattering, and its contact says nothing.
import type { Input } from '../control/guard/types.ts';
import { LIMITS } from './limits.ts';

export interface Inbox {
  /** False where it was refused: a flood of requests. */
  readonly put: (input: Input) => boolean;
  /** In order of arrival; the inbox is empty afterwards. */
  readonly drain: () => readonly Input[];
}

export function inboxOf(): Inbox {
  let queued: Input[] = [];
  const newest = new Map<string, number>();
  const counts = new Map<string, number>();
  const last = new Map<string, string>();

  const append = (input: Input, key: string): void => {
    newest.set(key, queued.length);
    queued.push(input);
  };
  return {
    put: (input) => {
      const key = keyOf(input);
      if (isLevel(input)) {
        // In the place of the older one, so that a flood takes no room; no order between topics counts (R13).
        const before = newest.get(key);
        if (before === undefined) append(input, key);
        else queued[before] = input;
        return true;
      }
      if (input.type === 'link') {
        if (!input.up) queued = queued.filter((other) => !ENDS_WITH_THE_LINK.includes(other.type));
        // A word repeated on a new connection is news.
        last.clear();
        newest.clear();
        queued.push(input);
        return true;
      }
      const text = JSON.stringify(input);
      if (last.get(key) === text && input.type !== 'request') return true;
      last.set(key, text);
      const count = (counts.get(key) ?? 0) + 1;
      counts.set(key, count);
      if (input.type === 'request' && count > LIMITS.queuedRequests) return false;
      if (count <= LIMITS.queuedPerContact) append(input, key);
      return true;
    },
    drain: () => {
      const flooded = [...counts]
        .filter(([key, count]) => count > LIMITS.queuedPerContact && overflowOf(key).length > 0)
        .map(([key]) => key);
      const calm = flooded.length === 0 ? queued : queued.filter((input) => !flooded.includes(keyOf(input)));
      const inputs = [...calm, ...flooded.flatMap(overflowOf)];
      queued = [];
      newest.clear();
      counts.clear();
      last.clear();
      return inputs;
    },
  };
}

/** What was heard before a link was lost proves nothing after it, so at most one loss and one return are to be told. */
const ENDS_WITH_THE_LINK: readonly Input['type'][] = ['link', 'echo', 'reading', 'feedback'];

/** Only the newest counts. A retained number after a live one can't be: the broker sends what it stored first. */
function isLevel(input: Input): boolean {
  return (
    (input.type === 'reading' && typeof input.value === 'number') ||
    input.type === 'echo' ||
    input.type === 'clock' ||
    input.type === 'journal' ||
    input.type === 'sinks'
  );
}

function keyOf(input: Input): string {
  switch (input.type) {
    case 'reading':
    case 'bad-reading':
      return `sensor ${input.sensor}`;
    case 'feedback':
    case 'bad-feedback':
      return `feedback ${input.actuator}`;
    case 'foreign-command':
      return `command ${input.actuator}`;
    case 'empty-command':
      return `empty ${input.actuator}`;
    default:
      return input.type;
  }
}

function overflowOf(key: string): readonly Input[] {
  const [kind, id = ''] = key.split(' ');
  if (kind === 'sensor') return [{ type: 'bad-reading', sensor: id, reason: 'overflow' }];
  return kind === 'feedback' ? [{ type: 'bad-feedback', actuator: id, reason: 'overflow' }] : [];
}
