import { describe, expect, it } from 'vitest';
import { ledgerText } from '../../src/simulate/ledger.ts';
import { salinityFromConductivity } from '../../src/simulate/seawater.ts';
import { makeTwin, type Twin } from '../../src/simulate/twin.ts';
import { verdictOf } from '../../src/simulate/verdict.ts';
import { litresOf, salinityOf } from '../../src/simulate/world.ts';
import { driversOf, marram } from './stations.ts';

const body = (twin: Twin, vessel: string) => {
  const found = twin.world.bodies[vessel];
  if (found === undefined) throw new Error(`no vessel ${vessel}`);
  return found;
};

function on(twin: Twin, ids: readonly string[], seconds: number, until: () => boolean = () => false): void {
  for (let second = 0; second < seconds && !until(); second++) {
    for (const id of ids) twin.command(id, true, 5000);
    twin.advance(1000);
  }
  for (const id of ids) twin.command(id, false, 0);
  twin.advance(10_000);
}

/** A cycle by somebody who sees through the walls: transfer, salt, dissolve, heat, drain and supply. */
function cycle(twin: Twin, saltShare = 1): void {
  const drivers = (route: string) => driversOf(marram, route);
  on(twin, drivers('refill'), 3600);
  on(twin, drivers('transfer'), 3600, () => litresOf(body(twin, 'mixing')) >= 250);
  const waterKg = body(twin, 'mixing').waterKg;
  // x kg of salts in w kg of water give x / (w + x) = 35.165 g/kg; the bag brings its own water.
  const saltKg = (waterKg * 0.035165) / (twin.works.saltYield - 0.035165);
  twin.pour('mixing', saltKg * saltShare);
  on(twin, drivers('circulate'), 3 * 3600);
  const heater = Object.values(marram.heaters)[0];
  const upstream = heater === undefined ? null : marram.actuators[heater.actuator]?.upstream;
  on(
    twin,
    [heater?.actuator ?? '', upstream ?? ''],
    8 * 3600,
    () => body(twin, 'mixing').temperatureC >= 24.5,
  );
  for (let step = 0; step < 3; step++) {
    for (const route of ['drain', 'supply']) {
      const before = twin.world.ledger.moved[route]?.litres ?? 0;
      on(twin, drivers(route), 600, () => (twin.world.ledger.moved[route]?.litres ?? 0) - before >= 4);
    }
  }
}

describe('the verdict', () => {
  it('is good after a cycle that was run well, with figures that agree with each other', () => {
    const twin = makeTwin(marram, 2);
    cycle(twin);
    const verdict = verdictOf(twin);
    expect(verdict.found).toEqual([]);
    expect(verdict.ok).toBe(true);
    expect(verdict.deliveries).toBe(3);
    expect(verdict.deliveredL).toBeGreaterThan(12);
    expect(verdict.deliveredL).toBeCloseTo(verdict.litresMoved.supply ?? 0, 6);
    expect(verdict.drainedL).toBeCloseTo(verdict.litresMoved.drain ?? 0, 6);
    expect(verdict.deliveredOffSpecL).toBe(0);
    expect(verdict.deliveredSalinity).toBeCloseTo(verdict.vessels.mixing?.salinity ?? 0, 1);
    expect(Math.abs((verdict.deliveredSalinity ?? 0) - 35)).toBeLessThan(0.2);
    expect(verdict.balanceErrorShare).toBeLessThan(1e-9);
    expect(verdict.vessels.fresh?.peakL).toBeGreaterThan(270);
    expect(Object.values(verdict.secondsDry).every((seconds) => seconds === 0)).toBe(true);
  });

  it("agrees with what the station's own probe says, within 0.3 % of conductivity", () => {
    const twin = makeTwin(marram, 2);
    cycle(twin);
    on(twin, driversOf(marram, 'circulate'), 600);
    const { temperatureC } = body(twin, 'mixing');
    const probe = marram.sensors['mixing-conductivity'];
    if (probe?.measures !== 'conductivity') throw new Error('a probe');
    const seen = salinityFromConductivity(
      Number(twin.present('mixing-conductivity')),
      probe.compensatedToC ?? temperatureC,
    );
    expect(Math.abs(seen - salinityOf(body(twin, 'mixing')))).toBeLessThan(0.12);
  });

  it('finds water that was delivered too salty, and says how much', () => {
    const twin = makeTwin(marram, 2);
    cycle(twin, 1.1);
    const { ok, found, deliveredOffSpecL, deliveredL } = verdictOf(twin);
    expect(ok).toBe(false);
    expect(deliveredOffSpecL).toBeCloseTo(deliveredL, 6);
    expect(found).toContainEqual(expect.stringMatching(/L were delivered outside 35 \+- 0.5/u));
    expect(found).toContainEqual(expect.stringMatching(/what was delivered has salinity 38/u));
  });

  it('finds water that was delivered too cold', () => {
    const twin = makeTwin(marram, 2);
    body(twin, 'mixing').saltKg = body(twin, 'mixing').waterKg * 0.036447;
    on(twin, driversOf(marram, 'supply'), 60);
    expect(verdictOf(twin).found).toContainEqual(
      expect.stringMatching(/^what was delivered has 16\.\d degC/u),
    );
    expect(verdictOf(twin).deliveredOffSpecL).toBeGreaterThan(1);
  });

  it('is not good for a day on which nothing was delivered', () => {
    const twin = makeTwin(marram, 2);
    twin.advance(3_600_000);
    expect(verdictOf(twin)).toMatchObject({ ok: false, found: ['no delivery to a system was completed'] });
  });

  it('notices water that vanishes: taking 2 % from a vessel behind its back breaks the balance', () => {
    const twin = makeTwin(marram, 2);
    cycle(twin);
    body(twin, 'mixing').waterKg *= 0.98;
    expect(verdictOf(twin).found).toContainEqual(expect.stringMatching(/^the books do not balance/u));
  });

  it('is also a page of text that names every vessel, route, actuator and finding', () => {
    const twin = makeTwin(marram, 2, ['hose-off:transfer@0']);
    on(twin, driversOf(marram, 'transfer'), 60);
    const verdict = verdictOf(twin);
    const text = ledgerText(verdict);
    for (const id of [
      ...Object.keys(verdict.vessels),
      ...Object.keys(verdict.litresMoved),
      ...verdict.found,
    ]) {
      expect(text).toContain(id);
    }
    for (const id of Object.keys(marram.actuators)) expect(text).toContain(id);
    expect(text).toContain('Not good:');
  });
});
