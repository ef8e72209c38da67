// The rows about how full a vessel is: each kind taken out in turn, and an accident that then happens, or what else holds it.
import { vi } from 'vitest';
import { tryAccidents } from './nights.ts';

vi.mock('../../../src/control/process/refill.ts', async (original) => {
  const { wishing } = await import('./wishes.ts');
  const { refill } = await original<typeof import('../../../src/control/process/refill.ts')>();
  return { refill: wishing(refill) };
});

tryAccidents((row) => row < 'I-07');
