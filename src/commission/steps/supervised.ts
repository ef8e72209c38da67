// What the service itself must have done once under supervision, before it may do it alone: its first batch and its first
// delivery. A person starts them with `run` and stays; here they say what they saw, and what the service remembers must agree.
import { message } from '../../language/message.ts';
import { type Result, result, type Trial } from '../trial.ts';

/** What a hand measurement and the target of a batch may differ beside the tolerance, practical salinity. */
const BY_HAND = 0.5;

export async function firstBatchStep({ bench, person, plant }: Trial): Promise<Result> {
  const { number, accepted } = bench.state.batch;
  if (number === 0 && !accepted)
    return result('undone', message('commission-no-batch-yet'), { batches: number });
  const { target, tolerance } = plant.process.salinity;
  const handSalinity = await person.number(
    'salinity',
    message('commission-batch-measured', { vessel: plant.mixingId }),
    0,
    42,
  );
  const measured = { batches: number, handSalinity };
  if (Math.abs(handSalinity - target) > tolerance + BY_HAND)
    return result('failed', message('commission-batch-off', { handSalinity, salinity: target }), measured);
  return result('passed', message('commission-batch-right', { handSalinity }), measured);
}

export async function firstDeliveryStep({ item, bench, person, plant }: Trial): Promise<Result> {
  const system = plant.routes[item.subject]?.to ?? '';
  const steps = bench.state.exchange[system]?.steps ?? 0;
  if (steps === 0) return result('undone', message('commission-no-delivery-yet', { system }), { steps });
  const seen = await person.oneOf('seen', message('commission-delivery-seen', { system }), ['yes', 'no']);
  return seen === 'yes'
    ? result('passed', message('commission-delivery-right', { system }), { steps })
    : result('failed', message('commission-delivery-elsewhere', { system }), { steps });
}
