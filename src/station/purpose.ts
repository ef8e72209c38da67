// What a route is for follows from what it joins, so no station file has to say it.
import type { RoutePurpose, VesselRole } from './plant.ts';

/** What a route is for, told by the roles of the vessels at its two ends. */
export function purposeOf(route: {
  readonly from: VesselRole;
  readonly to: VesselRole;
  readonly loop: boolean;
  readonly hasFresh: boolean;
}): RoutePurpose {
  if (route.loop) return 'circulate';
  switch (`${route.from} -> ${route.to}`) {
    case 'purified-water -> fresh':
      return 'refill';
    case 'fresh -> mixing':
      return 'transfer';
    // With a fresh vat this would be a way round it, and round the vat's reserve: nothing that the process asks for.
    case 'purified-water -> mixing':
      return route.hasFresh ? 'other' : 'transfer';
    case 'mixing -> system':
      return 'supply';
    case 'system -> waste':
      return 'drain';
    case 'purified-water -> waste':
      return 'flush';
    default:
      return 'other';
  }
}
