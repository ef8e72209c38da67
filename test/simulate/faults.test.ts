import { describe, expect, it } from 'vitest';
import { FAULT_KINDS, type FaultKind } from '../../src/simulate/fault-kinds.ts';
import { parseFault } from '../../src/simulate/faults.ts';
import { conductivityFromSalinity } from '../../src/simulate/seawater.ts';
import { type Heard, makeTwin, type Twin } from '../../src/simulate/twin.ts';
import { bodyOf, litresOf, salinityOf } from '../../src/simulate/world.ts';
import { driversOf, marram } from './stations.ts';

const HOUR_S = 3600;

/** Runs a route by renewing five-second leases, and lets go. */
function run(twin: Twin, route: string, seconds: number): void {
  for (let second = 0; second < seconds; second++) {
    for (const id of driversOf(marram, route)) twin.command(id, true, 5000);
    twin.advance(1000);
  }
}

function body(twin: Twin, vessel: string) {
  const found = twin.world.bodies[vessel];
  if (found === undefined) throw new Error(`no vessel ${vessel}`);
  return found;
}

const litres = (twin: Twin, vessel: string) => litresOf(body(twin, vessel));
const moved = (twin: Twin, route: string) => twin.world.ledger.moved[route]?.litres ?? 0;
const saysOf = (heard: readonly Heard[], sensor: string) =>
  heard.filter((one) => 'sensor' in one && one.sensor === sensor);

/** A second of station time, and what one sensor said in it. */
function said(twin: Twin, sensor: string, seconds = 1): readonly Heard[] {
  const all: Heard[] = [];
  for (let second = 0; second < seconds; second++) {
    twin.advance(1000);
    all.push(...saysOf(twin.inputs(), sensor));
  }
  return all;
}

const numbers = (twin: Twin, sensor: string, seconds: number): readonly number[] =>
  said(twin, sensor, seconds).flatMap((heard) => (heard.type === 'reading' ? [Number(heard.value)] : []));

/** With the fault and without it, the same commands. */
function both(spec: string, act: (twin: Twin) => void): [faulty: Twin, sound: Twin] {
  const twins: [Twin, Twin] = [makeTwin(marram, 4, [spec]), makeTwin(marram, 4)];
  for (const twin of twins) act(twin);
  return twins;
}

const EFFECTS: Record<FaultKind, readonly [sentence: string, check: () => void]> = {
  'stuck-on': [
    'keeps water moving after off, and feedback shows the true contact',
    () => {
      const [faulty, sound] = both('stuck-on:transfer-pump@10', (twin) => {
        run(twin, 'transfer', 20);
        for (const id of marram.routes.transfer?.through ?? []) twin.command(id, false, 0);
        for (let second = 0; second < 60; second++) {
          twin.command('pump-contactor', true, 5000);
          twin.advance(1000);
        }
      });
      expect(moved(faulty, 'transfer')).toBeGreaterThan(moved(sound, 'transfer') + 10);
      expect(faulty.relays.contact('transfer-pump')).toBe(true);
      expect(faulty.relays.contact('transfer-pump') && faulty.isOn('transfer-pump')).toBe(true);
    },
  ],
  'stuck-off': [
    'lets nothing move',
    () => {
      const [faulty, sound] = both('stuck-off:transfer-pump@0', (twin) => run(twin, 'transfer', 60));
      expect(moved(faulty, 'transfer')).toBe(0);
      expect(moved(sound, 'transfer')).toBeGreaterThan(5);
    },
  ],
  deaf: [
    'hears neither on nor off, while its lease still ends',
    () => {
      const twin = makeTwin(marram, 4, ['deaf:transfer-pump@10']);
      twin.advance(8000);
      twin.command('transfer-pump', true, 5000);
      twin.advance(3000);
      expect(twin.command('transfer-pump', false, 0)).toBe(false);
      expect(twin.relays.contact('transfer-pump')).toBe(true);
      twin.advance(2000);
      expect(twin.relays.contact('transfer-pump')).toBe(false);
      expect(twin.command('transfer-pump', true, 5000)).toBe(false);
      expect(twin.relays.contact('transfer-pump')).toBe(false);
    },
  ],
  'ignores-lease': [
    'is still on long after its lease',
    () => {
      const [faulty, sound] = both('ignores-lease:transfer-pump@0-100', (twin) => {
        twin.command('transfer-pump', true, 5000);
        twin.advance(99_000);
      });
      expect(faulty.relays.contact('transfer-pump')).toBe(true);
      expect(sound.relays.contact('transfer-pump')).toBe(false);
      faulty.advance(1000);
      expect(faulty.relays.contact('transfer-pump')).toBe(false);
    },
  ],
  'restarts-on': [
    'is on at that moment though nobody asked, without a lease, and obeys off',
    () => {
      const twin = makeTwin(marram, 4, ['restarts-on:transfer-pump@30']);
      twin.advance(29_000);
      expect(twin.relays.contact('transfer-pump')).toBe(false);
      twin.advance(600_000);
      expect(twin.relays.contact('transfer-pump')).toBe(true);
      twin.command('transfer-pump', false, 0);
      expect(twin.relays.contact('transfer-pump')).toBe(false);
    },
  ],
  'outputs-swapped': [
    'lets a command to one move the water of the other, while feedback follows the relays',
    () => {
      const twin = makeTwin(marram, 4, ['outputs-swapped:transfer-pump=drain-pump@0-60']);
      run(twin, 'transfer', 50);
      expect(moved(twin, 'transfer')).toBe(0);
      expect(moved(twin, 'drain')).toBeGreaterThan(1);
      expect(twin.relays.contact('transfer-pump')).toBe(true);
      expect(twin.relays.contact('drain-pump')).toBe(false);
      twin.advance(60_000);
      run(twin, 'transfer', 50);
      expect(moved(twin, 'transfer')).toBeGreaterThan(5);
    },
  ],
  'empty-command': [
    'says nothing on its command topic, once, and is heard as no command',
    () => {
      const twin = makeTwin(marram, 4, ['empty-command:transfer-pump@10']);
      twin.advance(9000);
      expect(twin.inputs()).not.toContainEqual({ type: 'empty-command', actuator: 'transfer-pump' });
      twin.advance(2000);
      expect(twin.inputs()).toContainEqual({ type: 'empty-command', actuator: 'transfer-pump' });
      twin.advance(60_000);
      expect(twin.inputs()).not.toContainEqual({ type: 'empty-command', actuator: 'transfer-pump' });
    },
  ],
  'only-changes': [
    'speaks once, and then only when something changes',
    () => {
      const twin = makeTwin(marram, 4, ['only-changes:fresh-low@0-20min', 'only-changes:all@30min']);
      expect(said(twin, 'fresh-low', 1100)).toHaveLength(1);
      expect(said(twin, 'fresh-high', 100).length).toBeGreaterThan(1);
      twin.advance(700_000);
      twin.inputs();
      expect(said(twin, 'fresh-high', 600)).toEqual([]);
    },
  ],
  'feedback-says': [
    'reports what it was told to whatever is true',
    () => {
      const twin = makeTwin(marram, 4, ['feedback-says:transfer-pump=on@5']);
      twin.inputs();
      twin.advance(5000);
      expect(twin.inputs()).toContainEqual({
        type: 'feedback',
        actuator: 'transfer-pump',
        on: true,
        live: true,
      });
      expect(twin.relays.contact('transfer-pump')).toBe(false);
    },
  ],
  'feedback-silent': [
    'sends no feedback, neither on change nor in time',
    () => {
      const [faulty, sound] = both('feedback-silent:transfer-pump@1', (twin) => twin.inputs());
      const heard = (twin: Twin) => {
        twin.advance(2000);
        twin.command('transfer-pump', true, 5000);
        return twin.inputs().filter((one) => 'actuator' in one && one.actuator === 'transfer-pump');
      };
      expect(heard(faulty)).toEqual([]);
      expect(heard(sound)).toHaveLength(1);
    },
  ],
  'power-cut': [
    'stops everything, silences everything, and leaves relays off and voices back afterwards',
    () => {
      const twin = makeTwin(marram, 4, ['power-cut:all@60-120']);
      twin.inputs();
      run(twin, 'transfer', 59);
      twin.inputs();
      twin.advance(1000);
      expect(twin.inputs().every(({ type }) => type.startsWith('bad-'))).toBe(true);
      expect(twin.isOn('transfer-pump')).toBe(false);
      const before = moved(twin, 'transfer');
      for (let second = 0; second < 59; second++) {
        for (const id of driversOf(marram, 'transfer')) twin.command(id, true, 5000);
        twin.advance(1000);
        expect(twin.inputs()).toEqual([]);
      }
      const { flowMostLpm = 0, runDownMs = 0 } = marram.routes.transfer ?? {};
      expect(moved(twin, 'transfer') - before).toBeLessThan((flowMostLpm * runDownMs) / 60_000);
      twin.advance(1000);
      expect(twin.relays.contact('transfer-pump')).toBe(false);
      expect(twin.inputs().filter(({ type }) => type === 'reading')).toHaveLength(
        Object.keys(marram.sensors).length,
      );
    },
  ],
  weak: [
    'moves that share of the water',
    () => {
      const [faulty, sound] = both('weak:transfer-pump=0.25@0', (twin) => run(twin, 'transfer', 300));
      expect(moved(faulty, 'transfer') / moved(sound, 'transfer')).toBeGreaterThan(0.24);
      expect(moved(faulty, 'transfer') / moved(sound, 'transfer')).toBeLessThan(0.3);
    },
  ],
  siphon: [
    'moves water while the pump rests',
    () => {
      const [faulty, sound] = both('siphon:transfer=0.2@0', (twin) => twin.advance(600_000));
      expect(moved(faulty, 'transfer')).toBeGreaterThan(10);
      expect(moved(sound, 'transfer')).toBe(0);
    },
  ],
  'hose-off': [
    'brings the water onto the floor instead of into the vat, and wets the tray',
    () => {
      const [faulty, sound] = both('hose-off:transfer@0', (twin) => run(twin, 'transfer', 120));
      expect(litres(faulty, 'fresh')).toBeCloseTo(litres(sound, 'fresh'), 3);
      expect(litres(faulty, 'mixing')).toBeCloseTo(20, 1);
      expect(faulty.world.ledger.hose.transfer?.litres).toBeCloseTo(moved(sound, 'transfer'), 3);
      expect(faulty.present('tray-leak')).toBe(true);
      expect(sound.present('tray-leak')).toBe(false);
    },
  ],
  'no-pressure': [
    'gives no water though every valve is open',
    () => {
      const [faulty, sound] = both('no-pressure:purifier@0', (twin) => run(twin, 'refill', 600));
      expect(moved(faulty, 'refill')).toBe(0);
      expect(moved(sound, 'refill')).toBeGreaterThan(1);
    },
  ],
  exhausted: [
    'shows at the purifier probe and, in the end, in the fresh vat',
    () => {
      const [faulty, sound] = both('exhausted:purifier=0.3@0', (twin) => run(twin, 'refill', HOUR_S));
      expect(faulty.present('purified-conductivity')).toBeCloseTo(0.3, 2);
      expect(sound.present('purified-conductivity')).toBeLessThan(0.02);
      expect(salinityOf(body(faulty, 'fresh'))).toBeGreaterThan(10 * salinityOf(body(sound, 'fresh')));
    },
  ],
  leaks: [
    'loses water to the floor, booked apart from what runs over',
    () => {
      const [faulty, sound] = both('leaks:fresh=0.5@60-180', (twin) => twin.advance(600_000));
      expect(litres(sound, 'fresh') - litres(faulty, 'fresh')).toBeCloseTo(1, 3);
      expect(faulty.world.ledger.leaked.fresh?.litres).toBeCloseTo(1, 3);
      expect(faulty.world.ledger.spilled.fresh?.litres).toBe(0);
      expect(faulty.present('tray-leak')).toBe(true);
    },
  ],
  'drawn-by-hand': [
    'takes the litres away',
    () => {
      const [faulty, sound] = both('drawn-by-hand:fresh=3@60-180', (twin) => twin.advance(600_000));
      expect(litres(sound, 'fresh') - litres(faulty, 'fresh')).toBeCloseTo(6, 2);
      expect(faulty.world.ledger.drawn.fresh?.litres).toBeCloseTo(6, 2);
    },
  ],
  'top-off-runs': [
    'fills the system until something inhibits it',
    () => {
      const twin = makeTwin(marram, 4, ['top-off-runs:system@0']);
      const before = litres(twin, 'system');
      twin.advance(600_000);
      expect(twin.present('top-off')).toBe(true);
      expect(litres(twin, 'system') - before).toBeGreaterThan(10);
      const higher = litres(twin, 'system');
      twin.command('top-off-inhibit', true, 600_000);
      twin.advance(599_000);
      expect(twin.present('top-off')).toBe(false);
      expect(litres(twin, 'system')).toBeLessThan(higher);
    },
  ],
  'return-stopped': [
    'raises what the floats of the system see, and not what it holds',
    () => {
      const [faulty, sound] = both('return-stopped:system=150@60', (twin) => twin.advance(120_000));
      expect(faulty.present('system-high')).toBe(true);
      expect(sound.present('system-high')).toBe(false);
      expect(litres(faulty, 'system')).toBeCloseTo(litres(sound, 'system'), 6);
    },
  ],
  says: [
    'makes a contact or a number say anything',
    () => {
      const twin = makeTwin(marram, 4, ['says:fresh-high=wet@10', 'says:mixing-temperature=31.5@10']);
      twin.inputs();
      expect(said(twin, 'fresh-high', 9)).not.toContainEqual(expect.objectContaining({ value: true }));
      twin.advance(1000);
      const now = twin.inputs();
      expect(saysOf(now, 'fresh-high')).toEqual([
        { type: 'reading', sensor: 'fresh-high', value: true, live: true },
      ]);
      expect(saysOf(now, 'mixing-temperature')).toContainEqual(expect.objectContaining({ value: 31.5 }));
    },
  ],
  sends: [
    'arrives as a bad reading where it is one: rubbish, nothing, a sentinel',
    () => {
      const heard = (text: string) => {
        const twin = makeTwin(marram, 4, [`sends:mixing-temperature=${text}@1`]);
        twin.inputs();
        return said(twin, 'mixing-temperature')[0];
      };
      expect(heard('hot')).toMatchObject({ type: 'bad-reading', reason: 'unparsable' });
      expect(heard('')).toMatchObject({ type: 'bad-reading', reason: 'empty' });
      const sentinel = (marram.sensors['mixing-temperature'] as { sentinels: readonly number[] })
        .sentinels[0];
      expect(sentinel).toBeDefined();
      expect(heard(String(sentinel))).toMatchObject({ type: 'bad-reading', reason: 'sentinel' });
      expect(heard('21.5')).toMatchObject({ type: 'reading', value: 21.5 });
    },
  ],
  silent: [
    'says nothing until it ends, then speaks at once',
    () => {
      const twin = makeTwin(marram, 4, ['silent:mixing-temperature@5-605']);
      twin.inputs();
      twin.advance(5000);
      twin.inputs();
      expect(said(twin, 'mixing-temperature', 599)).toEqual([]);
      expect(said(twin, 'mixing-temperature')).toHaveLength(1);
    },
  ],
  offline: [
    'is announced once, and the sensor is silent',
    () => {
      const twin = makeTwin(marram, 4, ['offline:fresh-low@5-300']);
      twin.inputs();
      twin.advance(5000);
      expect(saysOf(twin.inputs(), 'fresh-low')).toEqual([
        { type: 'bad-reading', sensor: 'fresh-low', reason: 'offline' },
      ]);
      expect(said(twin, 'fresh-low', 200)).toEqual([]);
    },
  ],
  frozen: [
    'goes on saying what it said while the water changes',
    () => {
      const [faulty, sound] = both('frozen:mixing-level@30', (twin) => run(twin, 'transfer', 300));
      expect(Number(sound.present('mixing-level')) - Number(faulty.present('mixing-level'))).toBeGreaterThan(
        20,
      );
      run(faulty, 'transfer', 10);
      const value = faulty.present('mixing-level');
      run(faulty, 'transfer', 60);
      expect(faulty.present('mixing-level')).toBe(value);
    },
  ],
  chatters: [
    'changes its mind many times in a minute',
    () => {
      const [faulty, sound] = both('chatters:fresh-low@0', (twin) => twin.inputs());
      expect(said(faulty, 'fresh-low', 60).length).toBeGreaterThan(15);
      expect(said(sound, 'fresh-low', 60).length).toBeLessThan(3);
    },
  ],
  swapped: [
    'says wet for dry and dry for wet',
    () => {
      const [faulty, sound] = both('swapped:fresh-low@0', (twin) => twin.inputs());
      expect(faulty.present('fresh-low')).toBe(!sound.present('fresh-low'));
    },
  ],
  'says-once': [
    'says something else once, at that moment, and then the truth again',
    () => {
      const twin = makeTwin(marram, 4, ['says-once:mixing-level=300@30']);
      const levels = numbers(twin, 'mixing-level', 60);
      expect(levels.filter((level) => level === 300)).toHaveLength(1);
      expect(levels.at(-1)).toBeLessThan(100);
    },
  ],
  wobbles: [
    'goes up by a count and back while nothing flows',
    () => {
      const counts = (spec: string) => {
        const totals = numbers(makeTwin(marram, 4, [spec]), 'transfer-meter', 60).map(
          (litres) => litres * 60,
        );
        return [...new Set(totals.map((total) => Math.round(total)))].toSorted();
      };
      expect(counts('wobbles:transfer-meter@0')).toEqual([0, 1]);
      expect(counts('wobbles:transfer-meter=2@0')).toEqual([0, 2]);
    },
  ],
  repeats: [
    'sends each message twice',
    () => {
      const sent = (spec: string) => said(makeTwin(marram, 4, [spec]), 'fresh-low', 90).length;
      const once = sent('nobody-there:all@0');
      expect(sent('repeats:fresh-low@0')).toBe(2 * once);
      expect(sent('repeats:fresh-low=2.5@0')).toBe(2 * once);
    },
  ],
  'reads-low': [
    'reads low by its share',
    () => {
      const [faulty, sound] = both('reads-low:mixing-level=0.2@0', (twin) => run(twin, 'transfer', 120));
      expect(Number(faulty.present('mixing-level')) / Number(sound.present('mixing-level'))).toBeCloseTo(
        0.8,
        6,
      );
    },
  ],
  'loses-first': [
    'counts too little at every start',
    () => {
      const [faulty, sound] = both('loses-first:transfer-meter=2@0', (twin) => {
        for (let start = 0; start < 3; start++) {
          run(twin, 'transfer', 60);
          twin.inputs();
          twin.advance(60_000);
          twin.inputs();
        }
      });
      const usual = (marram.sensors['transfer-meter'] as { lostAtStartL: number }).lostAtStartL / 2;
      const missing = Number(sound.present('transfer-meter')) - Number(faulty.present('transfer-meter'));
      expect(missing).toBeGreaterThan(0.9 * 3 * (2 - usual));
      expect(missing).toBeLessThan(1.1 * 3 * (2 - usual));
    },
  ],
  resets: [
    'starts the count again from 0',
    () => {
      const twin = makeTwin(marram, 4, ['resets:transfer-meter@60']);
      run(twin, 'transfer', 59);
      expect(Number(twin.present('transfer-meter'))).toBeGreaterThan(5);
      twin.advance(1000);
      expect(Number(twin.present('transfer-meter'))).toBeLessThan(1);
    },
  ],
  'salt-twice': ['pours double and reports single', () => poured('salt-twice:mixing@0', 2)],
  'salt-never': ['reports salt that was not poured', () => poured('salt-never:mixing@0', 0)],
  'salt-share': ['pours another share than it reports', () => poured('salt-share:mixing=1.3@0', 1.3)],
  'measures-off': [
    'reports a salinity that is off by so much with the first instrument, and the truth with another',
    () => {
      expect(measured(['measures-off:system=2@0']) - measured([])).toBeCloseTo(2, 6);
      expect(measured(['measures-off:system=2@0'], OTHER)).toBe(measured([], OTHER));
    },
  ],
  'types-target': [
    'reports the target without having measured, and the truth with another instrument',
    () => {
      expect(measured(['types-target:mixing@0'], '', 'mixing')).toBe(marram.process.salinity.target);
      expect(measured(['types-target:mixing@0'], OTHER, 'mixing')).toBeLessThan(1);
    },
  ],
  'swaps-digits': [
    'reports the digits before the point in the wrong order',
    () => {
      const sound = measured([]);
      const swapped = 10 * (Math.floor(sound) % 10) + Math.floor(sound / 10) + (sound % 1);
      expect(measured(['swaps-digits:system@0'])).toBeCloseTo(swapped, 6);
    },
  ],
  uncompensated: [
    'reads at the temperature of the water',
    () => {
      const [raw, sound] = both('uncompensated:mixing-conductivity@0', (twin) => {
        Object.assign(body(twin, 'mixing'), bodyOf(240, 35, 16));
        twin.advance(1000);
      });
      const share = Number(raw.present('mixing-conductivity')) / Number(sound.present('mixing-conductivity'));
      expect(share).toBeCloseTo(conductivityFromSalinity(35, 16) / conductivityFromSalinity(35, 25), 3);
    },
  ],
  'compensates-to': [
    'reads as if the water had another temperature',
    () => {
      const [off, sound] = both('compensates-to:mixing-conductivity=20@0', (twin) => {
        Object.assign(body(twin, 'mixing'), bodyOf(240, 35, 16));
        twin.advance(1000);
      });
      const share = Number(off.present('mixing-conductivity')) / Number(sound.present('mixing-conductivity'));
      expect(share).toBeCloseTo(conductivityFromSalinity(35, 20) / conductivityFromSalinity(35, 25), 3);
    },
  ],
  'nobody-there': [
    'leaves a task undone until it ends',
    () => {
      const twin = makeTwin(marram, 4, ['nobody-there:all@0-2h']);
      twin.ask('mixing', { task: 'add-salt', vessel: 'mixing', massKg: 1, message: { text: '' } });
      twin.advance(2 * HOUR_S * 1000 - 1);
      expect(twin.told()).toEqual([]);
      twin.advance(1);
      expect(twin.told()).toHaveLength(1);
    },
  ],
};

const OTHER = 'with another instrument than conductivity meter, hand-held';

function measured(faults: readonly string[], words = '', vessel = 'system'): number {
  const twin = makeTwin(marram, 4, faults);
  twin.ask(vessel, { task: 'measure-salinity', vessel, massKg: null, message: { text: words } });
  twin.advance(900_000);
  const [told] = twin.told();
  return told?.ask === 'salinity-measured' ? told.salinity : Number.NaN;
}

function poured(spec: string, share: number): void {
  const [faulty, sound] = both(spec, (twin) => {
    twin.ask('mixing', { task: 'add-salt', vessel: 'mixing', massKg: 4, message: { text: '' } });
    twin.advance(900_000);
  });
  expect(faulty.told()).toEqual(sound.told());
  expect(body(faulty, 'mixing').undissolvedKg).toBeCloseTo(share * body(sound, 'mixing').undissolvedKg, 6);
  expect(body(sound, 'mixing').undissolvedKg).toBeCloseTo(4, 1);
}

describe('a fault', () => {
  const effects = Object.entries(EFFECTS).map(([kind, [sentence, check]]) => ({ kind, sentence, check }));
  it.each(effects)('of kind $kind $sentence', ({ check }) => {
    expect.hasAssertions();
    check();
  });

  it('has an effect that is tested, every kind of it', () => {
    expect(Object.keys(EFFECTS).toSorted()).toEqual(Object.keys(FAULT_KINDS).toSorted());
  });

  it('holds from its first moment up to and without its last', () => {
    const twin = makeTwin(marram, 1, ['says:fresh-high=wet@10-20']);
    const wetAt = [9.999, 10, 19.999, 20].map((second) => {
      twin.advance(Math.round(second * 1000) - twin.world.nowMs);
      return twin.present('fresh-high');
    });
    expect(wetAt).toEqual([false, true, true, false]);
  });

  it('is timed in seconds or with a unit', () => {
    expect(parseFault('stuck-on:transfer-pump@2h-150min', marram)).toEqual({
      kind: 'stuck-on',
      what: 'transfer-pump',
      value: '',
      fromMs: 7_200_000,
      toMs: 9_000_000,
    });
    expect(parseFault('stuck-on:transfer-pump@1.5', marram)).toMatchObject({
      fromMs: 1500,
      toMs: Number.POSITIVE_INFINITY,
    });
  });

  it.each([
    ['stuck-on', 'write KIND:WHAT[=VALUE]@FROM[-TO]'],
    ['stuck-on:transfer-pump', 'write KIND:WHAT[=VALUE]@FROM[-TO]'],
    ['jammed:transfer-pump@0', "there is no kind 'jammed'; there are stuck-on, "],
    ['stuck-on:nothing@0', "'nothing' is not actuator of this station; there are master-valve, "],
    ['stuck-on:transfer-pump=3@0', "'stuck-on' takes no value"],
    ['says:fresh-low@0', "'says' needs a value"],
    ['says:fresh-low=3@0', "a contact can't say '3'"],
    ['says:mixing-temperature=wet@0', "'wet' is not a number in the house unit"],
    ['weak:transfer-pump=much@0', "'much' is not a number"],
    ['feedback-says:transfer-pump=maybe@0', 'the value is on or off'],
    ['stuck-on:transfer-pump@soon', "'soon' is not FROM or FROM-TO"],
    ['stuck-on:transfer-pump@20-10', 'it ends before it begins'],
  ])('that cannot be read is refused with its mend: %s', (spec, words) => {
    expect(() => makeTwin(marram, 1, [spec])).toThrow(words);
  });
});
