// One literal table: for each kind of interlock row an accident that it holds, and how the judges of a night see it where it
// does not. Read a row as: at this station, begun so, with these faults, and with a process that wants this whatever is the
// case, the judges find that; not with this kind of row alone in place, and not with all.
//
// `behind` names the other kinds that hold the same accident: with this one lost they must be lost too before it happens,
// each of them. Empty: nothing else holds it.

interface Begins {
  readonly contentsL: number;
  readonly salinity?: number;
  readonly temperatureC?: number;
}

export interface Accident {
  /** The kind of row: its id and its suffix. */
  readonly row: string;
  readonly says: string;
  /** An example station, or one that only tests have. Default: Marram Point. */
  readonly at?: 'one-vat' | 'unequal-vats' | 'bare-system';
  readonly begins?: Readonly<Record<string, Begins>>;
  readonly faults?: readonly string[];
  readonly wishes: readonly string[];
  /** Wanted on and off in turn, each for so long. */
  readonly fluttersMs?: number;
  /** The phases work beside the wishes; otherwise they wait for a person who does not come. */
  readonly works?: true;
  /** What the process takes for a whole batch, L. */
  readonly batchL?: number;
  readonly hours: number;
  /** The judge and what it speaks of. */
  readonly found: string;
  readonly behind: readonly string[];
}

export interface Unseen {
  readonly row: string;
  /** Why no judge of water, devices and wire can see it, and what the row protects. */
  readonly why: string;
  /** The file of the direct test, where it is not in all-kinds.test.ts. */
  readonly triedIn?: string;
}

const fresh = (contentsL: number): Begins => ({ contentsL, salinity: 0, temperatureC: 16 });
const salt = (contentsL: number): Begins => ({ contentsL, salinity: 35, temperatureC: 25 });

const NEARLY_FULL = { fresh: fresh(300), mixing: fresh(250) };
const NEARLY_EMPTY = { fresh: fresh(60), mixing: fresh(50) };

// biome-ignore format: a table reads as a table
export const ACCIDENTS: readonly Accident[] = [
  {
    row: 'I-01', says: 'filled on with the high float wet',
    begins: NEARLY_FULL, wishes: ['transfer'], hours: 0.2,
    found: 'spilled/mixing', behind: ['I-02', 'I-03'],
  },
  {
    row: 'I-02', says: 'filled on with the high float hanging dry',
    begins: NEARLY_FULL, faults: ['says:mixing-high=dry@0s'], wishes: ['transfer'], hours: 0.2,
    found: 'spilled/mixing', behind: ['I-03', 'I-10'],
  },
  {
    row: 'I-03', says: 'filled on with no room left for what is under way',
    begins: NEARLY_FULL, wishes: ['transfer'], hours: 0.2,
    found: 'spilled/mixing', behind: ['I-01', 'I-02'],
  },
  {
    row: 'I-04', says: 'filled by a weak pump for longer than filling can take',
    begins: NEARLY_FULL, faults: ['weak:transfer-pump=0.5@0s'], wishes: ['transfer'], hours: 0.3,
    found: 'spilled/mixing', behind: ['I-01', 'I-02', 'I-03', 'I-07'],
  },
  {
    row: 'I-05', says: 'pumped on with the low float dry',
    begins: NEARLY_EMPTY, wishes: ['transfer'], hours: 0.2,
    found: 'dry/transfer-pump', behind: ['I-06'],
  },
  {
    row: 'I-06', says: 'pumped on with less in the vat than a pump needs',
    begins: NEARLY_EMPTY, wishes: ['transfer'], hours: 0.2,
    found: 'dry/transfer-pump', behind: ['I-05'],
  },
  {
    row: 'I-07', says: 'pumped on with the low float hanging wet',
    begins: NEARLY_EMPTY, faults: ['says:fresh-low=wet@0s'], wishes: ['transfer'], hours: 0.5,
    found: 'dry/transfer-pump', behind: ['I-06', 'I-10'],
  },
  {
    row: 'I-07', says: 'pumped on against a closed valve',
    begins: NEARLY_EMPTY, faults: ['weak:transfer-pump=0@0s'], wishes: ['transfer'], hours: 0.2,
    found: 'in vain/transfer, flow', behind: [],
  },
  {
    row: 'I-07/starved', says: 'left an inlet open that has no pressure',
    begins: NEARLY_EMPTY, faults: ['no-pressure:purifier@0s'], wishes: ['refill'], hours: 0.3,
    found: 'in vain/refill, flow', behind: [],
  },
  {
    row: 'I-08', says: 'filled on while the level rose and the meter stood still',
    begins: NEARLY_FULL, faults: ['says:transfer-meter=0@0s'], wishes: ['transfer'], hours: 0.2,
    found: 'spilled/mixing', behind: ['I-01', 'I-02', 'I-03', 'I-07', 'I-10'],
  },
  {
    row: 'I-09', says: 'fed a welded pump that reports itself off, while its meter ran',
    begins: NEARLY_FULL, faults: ['stuck-on:transfer-pump@0s', 'feedback-says:transfer-pump=off@0s'], wishes: ['circulate'], hours: 0.2,
    found: 'spilled/mixing', behind: ['I-02'],
  },
  {
    row: 'I-09/level', says: 'circulated through a suction valve that stands open and reports itself shut, while the level rose',
    at: 'unequal-vats', begins: { fresh: fresh(400), mixing: fresh(150) },
    faults: ['stuck-on:draw-fresh@0s', 'feedback-says:draw-fresh=off@0s'], wishes: ['circulate'], hours: 0.3,
    found: 'spilled/mixing', behind: ['I-02', 'I-10'],
  },
  {
    row: 'I-10', says: 'filled on while the floats contradicted each other',
    begins: NEARLY_FULL, faults: ['says:mixing-high=dry@0s'], wishes: ['transfer'], hours: 0.2,
    found: 'spilled/mixing', behind: ['I-02', 'I-03'],
  },
  {
    row: 'I-11', says: 'pumped on through a hose that is off, with the tray wet',
    begins: NEARLY_EMPTY, faults: ['hose-off:transfer@0s'], wishes: ['transfer'], hours: 0.2,
    found: 'hose/transfer', behind: [],
  },
  {
    row: 'I-12', says: 'filled on with the high float silent',
    begins: NEARLY_FULL, faults: ['silent:mixing-high@0s'], wishes: ['transfer'], hours: 0.2,
    found: 'spilled/mixing', behind: ['I-02', 'I-03'],
  },
  {
    row: 'I-13', says: 'pumped through a hose that is off, with the leak sensor silent',
    begins: NEARLY_FULL, faults: ['hose-off:transfer@0s', 'silent:tray-leak@0s'], wishes: ['transfer'], hours: 0.2,
    found: 'hose/transfer', behind: ['I-08', 'I-11'],
  },
  {
    row: 'I-14', says: 'delivered with the suction from the fresh vat open too',
    at: 'unequal-vats', begins: { fresh: fresh(400), mixing: salt(100) },
    faults: ['stuck-on:draw-fresh@0s'], wishes: ['supply'], hours: 0.2,
    found: 'delivered/system', behind: ['I-20', 'I-23/stays-on'],
  },
  {
    row: 'I-15', says: 'started a pump again and again',
    begins: NEARLY_FULL, wishes: ['drain'], fluttersMs: 20_000, hours: 0.75,
    found: 'cycling/drain-pump', behind: ['I-22', 'I-22/far', 'I-30'],
  },
  {
    row: 'I-16', says: 'heated above the water',
    begins: { mixing: fresh(50) }, wishes: ['heater'], hours: 0.1,
    found: 'heater/heater', behind: ['I-17'],
  },
  {
    row: 'I-16/on', says: 'heated on while the water was drawn off',
    begins: { mixing: fresh(90) }, faults: ['drawn-by-hand:mixing=5@60s'], wishes: ['heater'], hours: 0.2,
    found: 'heater/heater', behind: ['I-16', 'I-17'],
  },
  {
    row: 'I-17', says: 'heated before the salt had dissolved',
    begins: { mixing: fresh(250) }, wishes: ['heater'], works: true, hours: 0.4,
    found: 'heater/heater, early', behind: [],
  },
  {
    row: 'I-18', says: 'heated on above the limit',
    begins: { mixing: salt(90) }, wishes: ['heater', 'circulate'], works: true, batchL: 90, hours: 2.2,
    found: 'heater/mixing', behind: [],
  },
  {
    row: 'I-19', says: 'heated on with the thermometer frozen',
    begins: { mixing: salt(90) }, faults: ['frozen:mixing-temperature@0s'], wishes: ['heater', 'circulate'], works: true, batchL: 90, hours: 2.2,
    found: 'heater/mixing', behind: [],
  },
  {
    row: 'I-20', says: 'delivered fresh water',
    begins: { mixing: fresh(200) }, wishes: ['supply'], hours: 0.1,
    found: 'delivered/system', behind: [],
  },
  {
    row: 'I-21', says: 'delivered into a system that is high',
    begins: { mixing: salt(250), system: salt(2560) }, wishes: ['supply'], hours: 0.3,
    found: 'spilled/system', behind: ['I-02', 'I-03', 'I-20', 'I-22', 'I-22/far'],
  },
  {
    row: 'I-21/low', says: 'drained a system that is low',
    begins: { system: salt(130) }, wishes: ['drain'], hours: 0.4,
    found: 'dry/drain-pump', behind: ['I-06', 'I-22', 'I-22/far', 'I-30'],
  },
  {
    row: 'I-22', says: 'drained without delivering',
    begins: { system: salt(130) }, wishes: ['drain'], hours: 0.4,
    found: 'dry/drain-pump', behind: ['I-06', 'I-21/low', 'I-22/far', 'I-30'],
  },
  {
    row: 'I-22/far', says: 'drained much more than was delivered',
    begins: { system: salt(130) }, wishes: ['drain'], hours: 0.4,
    found: 'dry/drain-pump', behind: ['I-06', 'I-21/low', 'I-22', 'I-30'],
  },
  {
    row: 'I-42', says: 'delivered on into a system of which nobody knew the level',
    at: 'bare-system', begins: { mixing: salt(48), system: salt(165) }, wishes: ['supply'], hours: 0.5,
    found: 'spilled/system', behind: ['I-20', 'I-22', 'I-22/far'],
  },
  {
    row: 'I-23/stays-on', says: 'fed a pump whose relay is welded',
    begins: NEARLY_FULL, faults: ['stuck-on:transfer-pump@0s'], wishes: ['circulate'], hours: 0.2,
    found: 'spilled/mixing', behind: ['I-02'],
  },
  {
    row: 'I-23/stays-off', says: 'kept telling a pump to run that stays off',
    begins: NEARLY_EMPTY, faults: ['stuck-off:transfer-pump@0s'], wishes: ['transfer'], hours: 0.2,
    found: 'in vain/transfer-pump', behind: [],
  },
  // What finds the next two is the core itself: its commands refuse to renew what somebody else has switched, and stop it.
  {
    row: 'I-24', says: 'went on against somebody else at the switch',
    begins: NEARLY_FULL, faults: ['foreign-off:circulation-pump@600s'], wishes: ['circulate'], hours: 0.3,
    found: 'core/step', behind: [],
  },
  {
    row: 'I-24/fills', says: 'went on with a valve that somebody else had opened',
    begins: NEARLY_EMPTY, faults: ['foreign-on:inlet-valve@600s'], wishes: ['refill'], hours: 0.3,
    found: 'core/step', behind: ['I-24'],
  },
  {
    row: 'I-25', says: 'commanded on over a dead link',
    begins: NEARLY_FULL, faults: ['link-mute:broker@100s'], wishes: ['circulate'], hours: 0.2,
    found: 'unfit/dead link', behind: [],
  },
  {
    row: 'I-25', says: 'filled on while nothing was heard',
    begins: NEARLY_FULL, faults: ['messages-lost:broker=1@100s'], wishes: ['transfer'], hours: 0.2,
    found: 'spilled/mixing', behind: ['I-03', 'I-12', 'I-13', 'I-14'],
  },
  {
    row: 'I-26', says: 'commanded on in a step that came minutes late',
    begins: NEARLY_FULL, faults: ['service-stalls:service@100s-400s'], wishes: ['circulate'], hours: 0.2,
    found: 'unfit/late step', behind: [],
  },
  {
    row: 'I-27', says: 'ran on with the journal full',
    begins: NEARLY_FULL, faults: ['journal-full:journal@100s'], wishes: ['circulate'], hours: 0.2,
    found: 'unfit/journal', behind: [],
  },
  {
    row: 'I-29', says: 'let the water of a spent purifier into the fresh vat',
    begins: NEARLY_EMPTY, faults: ['exhausted:purifier=2@0s'], wishes: ['refill'], hours: 0.6,
    found: 'impure/fresh', behind: [],
  },
  {
    row: 'I-30', says: 'drained while the top-off of the system ran',
    faults: ['top-off-runs:system@0s'], wishes: ['drain'], hours: 0.2,
    found: 'top-off/system', behind: [],
  },
  {
    row: 'I-31', says: 'pumped the water away from a heater that is on',
    begins: { mixing: salt(100) }, wishes: ['heater', 'supply'], hours: 0.3,
    found: 'heater/heater', behind: ['I-16', 'I-16/on', 'I-17', 'I-20', 'I-22', 'I-22/far'],
  },
];

/** Judges see water, devices and the wire, not hands and not months: these are tried directly, in all-kinds.test.ts. */
export const UNSEEN: readonly Unseen[] = [
  { row: 'I-28', why: 'protects from floats that have stuck unseen for a year: longer than any night' },
  { row: 'I-32', why: 'protects the hands of whoever has taken a device out of service and works at it' },
  { row: 'I-33', why: 'protects the hands of whoever moves a float for a proof test' },
  {
    row: 'I-34',
    why: 'protects from water through a valve that is exercised: no exercise is due in a night',
    triedIn: 'test/control/rows.test.ts',
  },
  {
    row: 'I-35',
    why: 'keeps still what lies beside a valve that is exercised: no exercise is due in a night',
    triedIn: 'test/control/rows.test.ts',
  },
  {
    row: 'I-36',
    why: 'stands for whatever was latched before the memory was lost: which accident that held is not known any more',
    triedIn: 'test/control/carry-over.test.ts',
  },
];
