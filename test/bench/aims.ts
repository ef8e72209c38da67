// Where each figure should get. A row names a figure of a part; what was measured is in results.json, and why an aim is
// missed in reasons.json, under the row's id.

export interface Aim {
  readonly id: string;
  readonly part: string;
  readonly figure: string;
  /** Further figures of the part that belong beside it. */
  readonly beside: readonly string[];
  readonly words: string;
  readonly against: string;
  readonly atLeast?: number;
  readonly atMost?: number;
}

// biome-ignore format: a table reads as a table
export const AIMS: readonly Aim[] = [
  { id: 'reaction-p50', part: 'reaction', figure: 'idle-p50-by-echo', beside: ['idle-p50', 'idle-echo-p50'], words: 'Leak message to `off`, half of them, idle station', against: 'a client that only answers', atMost: 1.25 },
  { id: 'reaction-p99', part: 'reaction', figure: 'idle-p99-by-echo', beside: ['idle-p99', 'idle-echo-p99'], words: 'The same, 99 of 100', against: 'a client that only answers', atMost: 1.5 },
  { id: 'reaction-busy-p50', part: 'reaction', figure: 'busy-p50-by-echo', beside: ['busy-p50', 'busy-echo-p50'], words: 'The same, half of them, every sensor ten times a second', against: 'a client that only answers', atMost: 1.25 },
  { id: 'reaction-busy-p99', part: 'reaction', figure: 'busy-p99-by-echo', beside: ['busy-p99', 'busy-echo-p99'], words: 'The same, 99 of 100', against: 'a client that only answers', atMost: 1.5 },
  { id: 'reaction-defaults', part: 'reaction', figure: 'faster-than-defaults', beside: ['idle-p50', 'defaults-p50'], words: 'Leak message to `off`, how much faster', against: 'the same client with library and broker as they come', atLeast: 100 },
  { id: 'core-steps', part: 'core', figure: 'steps-per-second', beside: ['bytes-per-step', 'rule-per-second', 'by-rule'], words: 'Input images through `step()` on one processor, all interlocks on', against: 'the refill rule alone, by hand', atLeast: 200_000 },
  { id: 'core-chart', part: 'core', figure: 'by-chart', beside: ['steps-per-second', 'chart-per-second'], words: 'The same', against: '`xstate`, a pure transition on a chart of the same phases', atLeast: 2 },
  { id: 'pipeline-qos0', part: 'pipeline', figure: 'qos0-by-bare', beside: ['qos0-per-second', 'qos0-bare-per-second', 'qos0-cpu', 'qos0-bare-cpu'], words: 'Messages in, QoS 0, journal on', against: 'a bare subscriber that parses JSON', atLeast: 0.5 },
  { id: 'pipeline-qos1', part: 'pipeline', figure: 'qos1-by-bare', beside: ['qos1-per-second', 'qos1-bare-per-second', 'qos1-cpu', 'qos1-bare-cpu'], words: 'Messages in, QoS 1, journal on', against: 'a bare subscriber that parses JSON', atLeast: 0.5 },
  { id: 'pipeline-memory', part: 'pipeline', figure: 'overload-growth', beside: ['overload-per-second', 'overload-peak', 'overload-steps-per-message'], words: 'Memory under more than it can take: last third by the third before', against: '-', atMost: 1.1 },
  { id: 'pipeline-alarms', part: 'pipeline', figure: 'overload-contacts-lost', beside: ['overload-contacts'], words: 'Changes of a leak sensor lost meanwhile', against: '-', atMost: 0 },
  { id: 'journal-rate', part: 'journal', figure: 'by-sqlite', beside: ['durable-per-second', 'sqlite-per-second', 'as-in-life-per-second'], words: 'Durable steps', against: 'SQLite alone, same settings', atLeast: 0.7 },
  { id: 'journal-p99', part: 'journal', figure: 'commit-p99-by-sqlite', beside: ['commit-p99', 'sqlite-commit-p99'], words: 'A commit, 99 of 100', against: 'SQLite alone, same settings', atMost: 1.43 },
  { id: 'trial-one', part: 'trial', figure: 'station-seconds-per-second', beside: ['steps-per-second'], words: 'Simulated time in `trial`, one processor', against: 'real time', atLeast: 50_000 },
  { id: 'trial-two', part: 'trial', figure: 'two-by-one', beside: ['on-two'], words: 'The same on two', against: 'one processor', atLeast: 1.8 },
  { id: 'prove-rate', part: 'prove', figure: 'by-pan', beside: ['places-per-second', 'pan-per-second'], words: 'States a second in `prove`, the real core', against: "SPIN's `pan` on a small model of the same plant", atLeast: 0.1 },
  { id: 'many-cost', part: 'many', figure: 'cost-at-most-by-few', beside: ['cpu-few', 'cpu-most'], words: 'What a station costs in a process with many', against: 'a process with ten', atMost: 1.2 },
  { id: 'many-p99', part: 'many', figure: 'reaction-p99-most', beside: ['stations-most'], words: 'Reaction with many stations in one process, 99 of 100', against: '-', atMost: 25 },
  { id: 'start', part: 'footprint', figure: 'start', beside: ['start-cpu', 'bare-start'], words: 'Start to the first `off` on the wire', against: '-', atMost: 700 },
  { id: 'memory', part: 'footprint', figure: 'memory-by-bare', beside: ['memory', 'bare-memory'], words: 'Memory at rest', against: 'node with the same libraries loaded', atMost: 2 },
  { id: 'cpu', part: 'footprint', figure: 'cpu-at-rest', beside: [], words: 'Processor at rest', against: '-', atMost: 1 },
  { id: 'size', part: 'footprint', figure: 'installed', beside: ['dependencies', 'own'], words: 'Production installation', against: '-', atMost: 60 },
  { id: 'growth-sensors', part: 'growth', figure: 'sensors-slope', beside: [], words: 'A step as sensors double: slope', against: 'linear is 1', atMost: 1.1 },
  { id: 'growth-routes', part: 'growth', figure: 'routes-slope', beside: [], words: 'A step as routes double: slope', against: 'linear is 1', atMost: 1.1 },
  { id: 'growth-history', part: 'growth', figure: 'history-slope', beside: [], words: 'Opening a journal as history grows tenfold: slope', against: 'linear is 1', atMost: 1.1 },
  { id: 'growth-lines', part: 'growth', figure: 'lines-slope', beside: ['year-open', 'year-lines', 'year-size'], words: 'The lines of all that history: slope', against: 'linear is 1', atMost: 1.1 },
  { id: 'soak-memory', part: 'soak', figure: 'memory-slope', beside: ['station-days', 'memory'], words: 'Endurance: memory gained in a station-day, by what there is', against: '-', atMost: 0.005 },
  { id: 'soak-handles', part: 'soak', figure: 'handles-gained', beside: [], words: 'Endurance: handles gained', against: '-', atMost: 0 },
  { id: 'soak-ledger', part: 'soak', figure: 'hours-open', beside: ['hours'], words: 'Endurance: hours whose ledger does not close', against: '-', atMost: 0 },
  { id: 'soak-drift', part: 'soak', figure: 'drift', beside: [], words: "Endurance: drift of the service's durations against the water's", against: '-', atMost: 0 },
  { id: 'soak-journal', part: 'soak', figure: 'journal-by-bound', beside: ['journal'], words: 'Endurance: the journal by its bound', against: '-', atMost: 1 },
  { id: 'load-normal', part: 'load', figure: 'rate20-late-p99', beside: ['rate20-per-second', 'rate20-seconds', 'rate20-off'], words: 'Load: control tick late, 99 of 100, at twenty times the normal rate', against: '-', atMost: 250 },
  { id: 'load-starved', part: 'load', figure: 'starved-late-p99', beside: [], words: 'Load: the same with every processor busy', against: '-', atMost: 20_000 },
  { id: 'load-unsafe', part: 'load', figure: 'unsafe', beside: ['cases'], words: 'Load: cases in which something was left on that had to be off', against: '-', atMost: 0 },
];

export interface Held {
  readonly part: string;
  readonly figure: string;
  readonly better: 'more' | 'less';
  readonly words: string;
}

/** The ratios that the gate holds, short runs against what is stored. */
// biome-ignore format: a table reads as a table
export const HELD: readonly Held[] = [
  { part: 'core', figure: 'by-chart', better: 'more', words: 'steps by transitions of xstate' },
  { part: 'journal', figure: 'by-sqlite', better: 'more', words: 'durable steps by rows of SQLite' },
  { part: 'reaction', figure: 'idle-p50-by-echo', better: 'less', words: 'reaction by a bare echo' },
  { part: 'pipeline', figure: 'qos0-cpu-by-bare', better: 'less', words: 'processor time of a message in by that of a bare subscriber' },
  { part: 'footprint', figure: 'start-by-bare', better: 'less', words: 'processor time of a start by that of node with the same libraries' },
];

/** By what factor a ratio is worse than the stored one; below 1 it is better. */
export const worseBy = ({ better }: Held, now: number, stored: number): number =>
  better === 'more' ? stored / now : now / stored;
