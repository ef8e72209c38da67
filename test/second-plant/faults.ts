// What goes wrong and when, as text: KIND[:WHAT][=VALUE]@WHEN[/WAY][+HOW LONG], for example `power:valves@2.5d+10min`.
// With a way it waits until water flows there. Each kind says which alarms it explains: any other alarm is a false one.
import type { Mouths } from './nodes.ts';
import type { Jams } from './relays.ts';
import type { Lies } from './sensors.ts';
import type { Broken, Water, WayId } from './water.ts';

interface Kind {
  readonly words: string;
  readonly explains: (what: string) => RegExp;
  /** A person who comes to look can end it. */
  readonly mendable: boolean;
  /** How long it explains an alarm after it is over, h. */
  readonly lingersH: number;
}

const device = (what: string) => what.replaceAll('+', '|');

export const KINDS = {
  'kill-service': {
    words: 'the service is killed, and started again',
    explains: () => NOTHING,
    mendable: false,
    lingersH: 1,
  },
  'stop-service': {
    words: 'the service is stopped in order, and started again',
    explains: () => NOTHING,
    mendable: false,
    lingersH: 1,
  },
  'restart-broker': {
    words: 'the broker is restarted and has lost its store',
    explains: () => /^I-25-|^link/u,
    mendable: false,
    lingersH: 0.2,
  },
  stall: {
    words: 'the computer of the service stands still',
    explains: () => /^I-2[56]-/u,
    mendable: false,
    lingersH: 0.2,
  },
  power: {
    words: 'a node has no current',
    explains: (what) => new RegExp(`^I-12-|^I-23-(${device(what)})`, 'u'),
    mendable: false,
    lingersH: 0.5,
  },
  mute: { words: 'a node says nothing', explains: () => /^I-1[23]-/u, mendable: false, lingersH: 0.5 },
  'stuck-wet': {
    words: 'a float hangs wet',
    explains: () => /^I-(01|02|08|10|21)-|^promise/u,
    mendable: true,
    lingersH: 2,
  },
  'stuck-dry': {
    words: 'a float hangs dry',
    explains: () => /^I-(05|08|10|21)-|^promise/u,
    mendable: true,
    lingersH: 2,
  },
  'hose-off': {
    words: 'the hose of a way comes off',
    explains: () => /^I-(04|08|10|11)-/u,
    mendable: true,
    lingersH: 2,
  },
  seized: {
    words: 'a valve does not move',
    explains: () => /^I-(07|23|14|09)-/u,
    mendable: true,
    lingersH: 2,
  },
  siphon: {
    words: 'water runs on through a stopped pump',
    explains: () => /^I-(09|22|08)-/u,
    mendable: true,
    lingersH: 2,
  },
  welded: {
    words: 'a relay does not drop out',
    explains: () => /^I-(23|09|07|16|19)-/u,
    mendable: true,
    lingersH: 2,
  },
  deaf: { words: 'a device does not hear', explains: () => /^I-23-/u, mendable: true, lingersH: 2 },
  level: {
    words: 'the level of the fresh tank reads that many times the truth',
    explains: () => /^I-(0[13489]|10|07-transfer)-/u,
    mendable: true,
    lingersH: 2,
  },
  probe: {
    words: 'the probe reads that many times the truth',
    explains: () => /batch|salin|doubt|yield|I-20|measure/iu,
    mendable: true,
    lingersH: 24,
  },
  'pours-less': {
    words: 'the person pours that share and says it was all',
    explains: () => /batch|salin|doubt|yield/iu,
    mendable: false,
    lingersH: 24,
  },
  misreads: {
    words: "the person's instrument shows so much more",
    explains: () => /batch|salin|doubt|measure|I-20/iu,
    mendable: false,
    lingersH: 24,
  },
} as const satisfies Readonly<Record<string, Kind>>;

/** Whatever it is that an outage of this kind excuses: no alarm. */
const NOTHING = /^$/u;

export type FaultKind = keyof typeof KINDS;

export interface Fault {
  readonly text: string;
  readonly kind: FaultKind;
  readonly what: string;
  readonly value: number;
  readonly afterS: number;
  readonly inWay: WayId | null;
  readonly lastsS: number;
  fromS: number | null;
  toS: number;
}

const SECONDS = { s: 1, min: 60, h: 3600, d: 86_400 } as const;
const SHAPE =
  /^([a-z-]+)(?::([a-z+-]+))?(?:=([\d.]+))?@([\d.]+)(s|min|h|d)(?:\/([a-z-]+))?(?:\+([\d.]+)(s|min|h|d))?$/u;

/** @throws Error for a text that can't be read */
export function faultIn(text: string): Fault {
  const [, kind = '', what = '', value, at, atUnit, way, lasts, lastsUnit] = SHAPE.exec(text) ?? [];
  if (!(kind in KINDS)) throw new Error(`no fault '${text}': kinds are ${Object.keys(KINDS).join(', ')}`);
  const seconds = (number: string | undefined, unit: string | undefined) =>
    number === undefined ? Infinity : Number(number) * SECONDS[unit as keyof typeof SECONDS];
  return {
    text,
    kind: kind as FaultKind,
    what,
    value: Number(value ?? 1),
    afterS: seconds(at, atUnit),
    inWay: (way as WayId | undefined) ?? null,
    lastsS: seconds(lasts, lastsUnit),
    fromS: null,
    toS: Infinity,
  };
}

export class Faults implements Broken, Jams, Lies {
  readonly all: readonly Fault[];
  #nowS = 0;

  constructor(texts: readonly string[]) {
    this.all = texts.map(faultIn);
  }

  /** @returns those that begin now */
  advance(nowS: number, water: Water): readonly Fault[] {
    this.#nowS = nowS;
    const begun = this.all.filter(
      ({ fromS, afterS, inWay }) =>
        fromS === null && nowS >= afterS && (inWay === null || (water.flowLpm.get(inWay) ?? 0) > 3),
    );
    for (const fault of begun) Object.assign(fault, { fromS: nowS, toS: nowS + fault.lastsS });
    return begun;
  }

  /** A person comes and mends what can be mended. @returns what that was */
  mend(): readonly Fault[] {
    const mended = this.all.filter((fault) => KINDS[fault.kind].mendable && this.#isPresent(fault));
    for (const fault of mended) fault.toS = this.#nowS;
    return mended;
  }

  /** The fault that explains an alarm now, or null. */
  explaining(alarm: string): string | null {
    for (const fault of this.all) {
      if (fault.fromS === null) continue;
      const { explains, lingersH } = KINDS[fault.kind];
      if (this.#nowS > fault.toS + lingersH * 3600) continue;
      if (explains(fault.what).test(alarm)) return fault.text;
    }
    return null;
  }

  present(kind: FaultKind, what?: string): Fault | null {
    return (
      this.all.find(
        (fault) =>
          fault.kind === kind && (what === undefined || fault.what === what) && this.#isPresent(fault),
      ) ?? null
    );
  }

  hoseOff = (way: string): boolean => this.present('hose-off', way) !== null;
  seized = (valve: string): boolean => this.present('seized', valve) !== null;
  siphons = (way: string): boolean => this.present('siphon', way) !== null;
  welded = (relay: string): boolean => this.present('welded', relay) !== null;
  deaf = (device: string): boolean => this.present('deaf', device) !== null;
  levelFactor = (): number => this.present('level')?.value ?? 1;
  probeFactor = (): number => this.present('probe')?.value ?? 1;
  stuck = (float: string): boolean | null => {
    if (this.present('stuck-wet', float) !== null) return true;
    return this.present('stuck-dry', float) === null ? null : false;
  };

  #isPresent({ fromS, toS }: Fault): boolean {
    return fromS !== null && this.#nowS < toS;
  }
}

/** Nodes whose current or voice a fault takes. */
export function applyToNodes(faults: Faults, mouths: Mouths, nodes: readonly Parameters<Mouths['has']>[0][]) {
  const turned: { node: (typeof nodes)[number]; on: boolean }[] = [];
  for (const node of nodes) {
    mouths.mute(node, faults.present('mute', node) !== null);
    const on = faults.present('power', node) === null;
    if (mouths.power(node, on)) turned.push({ node, on });
  }
  return turned;
}

/** Ten days as they come: nothing is broken, and yet services, brokers and current come and go. */
export const ORDINARY: readonly string[] = [
  'kill-service@0.4d+3min',
  'restart-broker@1.3d+8s',
  'stop-service@2.2d/supply+2min',
  'power:meters@2.7d+4min',
  'restart-broker@3.3d/supply+8s',
  'kill-service@4.3d/supply+90s',
  'stall@5.4d+40s',
  'kill-service@6.2d/circulate+30min',
  'power:valves@6.6d+5min',
  'power:floats@7.3d+3min',
  'power:sump@7.8d+1min',
  'kill-service@8.3d/drain+20s',
];

/** Something real on every day, and a person who mends it when an alarm asks. */
export const TROUBLES: readonly string[] = [
  'stuck-dry:mixing-high@0.2d',
  'pours-less=0.7@2h+2d',
  'deaf:transfer@2.3d/transfer',
  'hose-off:transfer@3d/transfer',
  'stuck-wet:system-high@4.2d',
  'seized:supply@5.2d/supply',
  'misreads=2.5@5.5d+2d',
  'probe=0.87@6.2d',
  'siphon:supply@7.1d/supply',
  'welded:mix@8.1d/circulate',
  'level=0.8@9.1d',
];
