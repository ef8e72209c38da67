// Every bound of the journal in one place, with its reason; relations between them are asserted below.
import { invariant } from '../control/guard/invariant.ts';

const MIB = 1024 * 1024;
const HOUR_MS = 3_600_000;

export const LIMITS = {
  /** Steps that command nothing wait for one another this long or this many, so that a quiet station writes twice in 4 s and not 8 times a second. */
  laterMs: 2_000,
  laterSteps: 64,
  /** One row holds no more steps than this: a flipped bit spoils one row. */
  stepsPerRow: 64,
  /** While the disk refuses, so many steps wait for it (40 min at 8 a second, about 2 MiB); after that the record has a gap, and says so. */
  waitingSteps: 20_000,
  waitingNotes: 5_000,
  /** A disk that refused is asked again after this. */
  retryMs: 1_000,
  /** How long a write waits for another process that holds the file (a reader that copies it); the control loop stands still meanwhile. */
  busyMs: 250,

  /** A restart computes the state from the last snapshot; so many steps at most (twice, where no quiet moment came), or 1 s of a small computer. */
  snapshotSteps: 1_200,
  /** The same for steps that are large, in characters of JSON: the interval between two snapshots is what goes at once. */
  snapshotText: 4 * MIB,

  /** What the file may grow to. The steps give way first; the tables beside them are bounded below. */
  fileBytes: 256 * MIB,
  leastFileBytes: 64 * MIB,
  /** Above this share of its bytes the oldest steps go: the rest is room for what one interval between snapshots adds. */
  fillShare: 0.9,
  /** SQLite's own log beside the file is cut back to this after each checkpoint. */
  logBytes: 4 * MIB,
  /** Snapshots, with the steps after each, that go in one commit: bounded work, and faster than they come. */
  prunedSnapshots: 4,
  prunedRows: 2_500,
  vacuumedPages: 512,

  /** Nothing goes by age: a clock that was wrong for a minute must not wipe out a year. Moments (5 s) of two hours ... */
  moments: 2 * 720,
  /** ... minutes of 13 days ... */
  minutes: 13 * 24 * 60,
  /** ... and hours of a year and a month, so that a month can be held against the same month of last year. */
  hours: 400 * 24,
  /** Hours with an exchange, of all systems together: the same time for two of them. */
  ledgerHours: 20_000,
  alarms: 10_000,
  records: 25_000,
  batches: 2_000,
  proofTests: 5_000,
  /** The tables but the samples are counted at each so-manieth snapshot, about every 40 min: counting costs more than one row. */
  countedEvery: 16,
  /** Words that people send are kept whole with their step; beside it, this much. */
  wordsLength: 300,

  /** Points of one line in a picture. */
  points: 1_000,
  mostPoints: 20_000,
  /** What one answer lists. */
  listed: 500,
  mostListed: 10_000,
  /** From here on moments are too many, and minutes serve; and from there on hours. */
  momentsUpToMs: 2 * HOUR_MS,
  minutesUpToMs: 72 * HOUR_MS,

  /** What a story tells of the time before a row spoke and after it fell silent. */
  aroundMs: 60_000,
  /** Lines of one story. */
  tellings: 5_000,

  /** A wall clock before this year was never set. */
  earliestYear: 2025,
  /** A row that unfolds to more than this is no row of ours. */
  unfoldedBytes: 64 * MIB,
} as const;

/** Each is a part of the next: a coarser span is made of finer ones. */
export const SPANS = { moment: 5_000, minute: 60_000, hour: HOUR_MS } as const;

invariant(LIMITS.leastFileBytes <= LIMITS.fileBytes, 'the usual size is an allowed one', LIMITS);
invariant(LIMITS.laterSteps <= LIMITS.stepsPerRow, 'what waits fits one row', LIMITS);
invariant(LIMITS.stepsPerRow < LIMITS.snapshotSteps, 'a snapshot spans several rows', LIMITS);
invariant(
  2 * LIMITS.snapshotSteps <= LIMITS.prunedRows,
  'moments go as fast as they come: one with each step at most',
  LIMITS,
);
invariant(
  LIMITS.minutesUpToMs < LIMITS.minutes * SPANS.minute,
  'minutes are there as long as they are shown',
  LIMITS,
);
invariant(
  LIMITS.momentsUpToMs <= LIMITS.moments * SPANS.moment,
  'moments are there as long as they are shown',
  LIMITS,
);
