// A set of defects as the devices feel it: flags by index, worked out once for a set and asked millions of times.
import type { Defect } from './defects.ts';
import type { Model } from './model.ts';

export type Feedback = 'true' | 'silent' | 'lies';
export type Speech = 'true' | 'silent' | 'offline' | 'stored' | 'lies' | 'chatters';

export interface Broken {
  readonly defects: readonly Defect[];
  readonly stuckOn: readonly boolean[];
  readonly stuckOff: readonly boolean[];
  readonly deaf: readonly boolean[];
  readonly ignoresLease: readonly boolean[];
  readonly weak: readonly boolean[];
  /** Without power: off, unless it is a jammed valve. */
  readonly dead: readonly boolean[];
  readonly feedback: readonly Feedback[];
  readonly speech: readonly Speech[];
  readonly siphon: readonly boolean[];
  readonly hose: readonly boolean[];
  readonly leaks: readonly boolean[];
  readonly drawn: readonly boolean[];
  readonly topOff: readonly boolean[];
  readonly returnStopped: readonly boolean[];
  readonly noPressure: boolean;
  readonly exhausted: boolean;
  readonly link: 'up' | 'lost' | 'mute';
  readonly journalFull: boolean;
  readonly salt: 'true' | 'twice' | 'never';
  /** What a person's instrument shows. */
  readonly measures: string;
  /** And a second one the same: the person types what is expected. */
  readonly isTyped: boolean;
  readonly nobody: boolean;
  /** In how many ways a tick may go: the product over all that lies. */
  readonly ways: number;
}

export function brokenOf(model: Model, defects: readonly Defect[]): Broken {
  const has = (kind: Defect['kind'], at: number) =>
    defects.some((d) => d.kind === kind && d.at === at && !d.once);
  const any = (kind: Defect['kind']) => defects.some((d) => d.kind === kind);
  const cut = (domain: string | null) =>
    defects.some(({ kind, what }) => kind === 'power-cut' && (what === 'all' || what === domain));
  const allSilent = defects.some(({ kind, what }) => kind === 'silent' && what === 'all');
  const { switches, sensors, pipes, vessels } = model;
  const dead = switches.map(({ actuator }) => cut(actuator.failureDomain));
  return {
    defects,
    stuckOn: switches.map((_, at) => has('stuck-on', at)),
    stuckOff: switches.map((_, at) => has('stuck-off', at)),
    deaf: switches.map((_, at) => has('deaf', at)),
    ignoresLease: switches.map((_, at) => has('ignores-lease', at)),
    weak: switches.map((_, at) => has('weak', at)),
    dead,
    feedback: switches.map((_, at): Feedback => {
      if (dead[at] || allSilent || has('feedback-silent', at)) return 'silent';
      return has('feedback-lies', at) || has('feedback-says', at) ? 'lies' : 'true';
    }),
    speech: sensors.map((sensor, at): Speech => {
      if (cut(sensor.failureDomain)) return sensor.availability.length === 0 ? 'silent' : 'offline';
      if (allSilent || has('silent', at)) return 'silent';
      if (has('offline', at)) return 'offline';
      if (has('stored', at)) return 'stored';
      if (has('chatters', at)) return 'chatters';
      return has('lies', at) || has('says', at) ? 'lies' : 'true';
    }),
    siphon: pipes.map((_, at) => has('siphon', at)),
    hose: pipes.map((_, at) => has('hose-off', at)),
    leaks: vessels.map((_, at) => has('leaks', at)),
    drawn: vessels.map((_, at) => has('drawn-by-hand', at)),
    topOff: vessels.map((_, at) => has('top-off-runs', at)),
    returnStopped: vessels.map((_, at) => has('return-stopped', at)),
    noPressure: any('no-pressure'),
    exhausted: any('exhausted'),
    link: any('link-lost') ? 'lost' : any('link-mute') ? 'mute' : 'up',
    journalFull: any('journal-full'),
    salt: any('salt-twice') ? 'twice' : any('salt-never') ? 'never' : 'true',
    measures: defects.find(({ kind }) => MEASURING.includes(kind))?.word ?? 'true',
    isTyped: any('types-both'),
    nobody: any('nobody-there'),
    ways: defects.reduce((ways, defect) => ways * defect.ways, 1),
  };
}

/** Which way whatever lies at this place goes, of the way of the whole set. */
export function wayOf(broken: Broken, of: 'feedback' | 'sensor', at: number, way: number): number {
  let rest = way;
  for (const defect of broken.defects) {
    const isHere = defect.at === at && (of === 'feedback' ? FEEDBACK : SENSOR).includes(defect.kind);
    if (isHere) return defect.ways === 1 ? defect.way : rest % defect.ways;
    rest = Math.floor(rest / defect.ways);
  }
  return 0;
}
const FEEDBACK: readonly Defect['kind'][] = ['feedback-says', 'feedback-lies'];
const SENSOR: readonly Defect['kind'][] = ['says', 'stored', 'lies'];
const MEASURING: readonly Defect['kind'][] = ['measures-off', 'types-both'];
