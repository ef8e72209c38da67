// The second half of R16, with waits of tenths of a second instead of minutes.
import { afterEach, describe, expect, it, vi } from 'vitest';
import { hasMosquitto, mosquitto } from '../tools/brokers.ts';
import { device, isUp, plant, start, until } from './rig.ts';

vi.mock('../../src/bridge/limits.ts', async (original) => {
  const { LIMITS } = await original<typeof import('../../src/bridge/limits.ts')>();
  return { LIMITS: { ...LIMITS, duplicateBackoffMs: [400, 800], stableMs: 2500, shortSessionMs: 2000 } };
});

const ALARM = `vatwarden/${plant.id}/alarm/duplicate-client`;
const open: { close: () => Promise<unknown> }[] = [];
afterEach(async () => {
  for (const one of open.splice(0)) await one.close();
});

describe.runIf(hasMosquitto)('two services with one client id', () => {
  it('R16: the alarm stands on the broker as soon as one of them is in again, and goes when the other has left', async () => {
    const broker = await mosquitto();
    const side = await device(broker.port, 5, [ALARM]);
    const first = start(broker.port, 5, { boot: 'b0000001' });
    open.push({ close: () => first.bridge.stop(0) }, side, broker);
    await until(isUp(first), 'the first is up');
    const second = start(broker.port, 5, { boot: 'b0000002' });
    await until(() => side.texts(ALARM).some((text) => text.includes('client id')), 'the alarm');
    await second.bridge.stop(0);
    await until(() => side.texts(ALARM).at(-1) === '', 'the alarm is over');
    expect(side.texts(ALARM).filter((text) => text !== '').length).toBeGreaterThan(0);
  });
});
