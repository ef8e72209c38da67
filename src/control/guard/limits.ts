// Every bound, wait and repeat of the core in one place, each with its reason; relations between them are asserted below.
// What belongs to one station (leases, marks, times of its devices) is in the station file, not here.
import { invariant } from './invariant.ts';

/** Ages and waits stop counting here (60 d): equal situations are equal states, however long ago. */
export const AGE_CAP_MS = 60 * 86_400_000;

/** An `off` is repeated this often until proven ... */
export const OFF_REPEAT_MS = 2_000;
/** ... and this many times; then only once every `OFF_SLOW_MS`, so that a deaf device never makes a command storm. */
export const OFF_REPEATS = 8;
export const OFF_SLOW_MS = 60_000;

/** A lease is renewed when a third of it is used: two renewals may be lost before a device drops out. */
export const RENEWAL_SHARE = 1 / 3;

/** For so long is an output tried whose load is isolated; rows that protect only that load give way no longer. */
export const ISOLATED_MOST_MS = 10_000;

/** An actuator without feedback and without a lease of its own is taken to be off after this (an assumption; `check` says so). */
export const ASSUMED_OFF_MS = 10_000;

/** Contact chatter: each change adds one, one leaks away in this time; above the limit the contact is not believed. */
export const CHATTER_LEAK_MS = 10_000;
export const CHATTER_LIMIT = 6;
export const CHATTER_CLEAR = 2;

/** Flow must stay below the route's least for this long before it counts: one slow pulse window is not a closed valve. */
export const LOW_FLOW_MS = 2_000;
/** A counter that speaks only on change and has been silent for this long counts nothing. */
export const SILENT_COUNTER_MS = 5_000;
/** A total is turned into a flow over at least this window, so that single pulses don't look like bursts. */
export const FLOW_WINDOW_MS = 1_000;
/**
 * Too little flow must be seen twice, or over this time at once: a message that was sent twice repeats an old count, and
 * follows its first within seconds.
 */
export const LONE_LOOK_MS = 5_000;
/** A total that falls by no more than two counts flutters at the edge of a count: the highest stands. */
export const NOISE_COUNTS = 2.5;
/** No meter for these amounts counts more finely (5,000 pulses a litre); less is a device's rounding. */
export const FINEST_COUNT_L = 0.0002;
/** What was counted may come in late, and then at once: by so much time more may have passed than since the last message. */
export const BUNCHED_MS = 10_000;
/**
 * A total that jumps is not believed, as a contact that chatters: one jump to where no start from 0 leads, or three starts
 * from 0 at short intervals.
 */
export const JUMP_CHATTER = CHATTER_LIMIT + 1;
export const RESTART_CHATTER = CHATTER_LIMIT / 2;
/** After the inlet ran dry of pressure, or its water was impure, it is tried again after this. */
export const STARVED_REST_MS = 10 * 60_000;
export const IMPURE_REST_MS = 30 * 60_000;
/** A vat that wants water and says for so long that it is full has a float that hangs, or whose words are swapped. */
export const FULL_AND_LOW_MS = 10 * 60_000;
/** A flush of the purifier before a refill lasts at least / at most this long. */
export const FLUSH_LEAST_MS = 60_000;
export const FLUSH_MOST_MS = 10 * 60_000;

/** A contradiction counts for this long after it was last seen: several re-publish periods of a usual level sensor. */
export const CONTRADICTION_MS = 3 * 60_000;

/** The vessel's book (contents by flows alone) is compared with its level and opened anew after this. */
export const BOOK_MS = 60 * 60_000;
/** A difference between book and level counts above this share of the capacity, or this many uncertainties. */
export const BOOK_SHARE = 0.02;
export const BOOK_UNCERTAINTIES = 3;
/** A difference is believed when a second reading at least so much later shows it: a single reading may be wrong. */
export const DOUBT_STANDS_MS = 3_000;
/** Salt, warmth and waves move a level, and evaporation takes water, by no more than this share of the capacity in an hour. */
export const LEVEL_NOISE_SHARE_PER_HOUR = 0.01;

/** Unasked flow counts above this share of the smaller vessel's capacity, or three times what the meter may miss. */
export const STRAY_SHARE = 0.004;
/** Small stray amounts are forgotten at one bound in this time. */
export const STRAY_FORGET_MS = 60 * 60_000;

/** Room left / least flow, with this much grace, is the longest a filling run may take. */
export const RUN_BUDGET_GRACE = 1.15;

/**
 * What reports only changes is told of as missing when the link has been up for this long: after a power cut access point,
 * broker and devices come back within two minutes or so, and an owner who restarts the service still stands beside it.
 */
export const UNHEARD_MS = 3 * 60_000;
/** What reports at stated times is missing after so many of them: the same count as its greatest age has by itself. */
export const MISSED_REPORTS = 3;

/** A foreign command keeps its phase off for this long after the last one. */
export const FOREIGN_MS = 60_000;
/** What begins within this of a command began with it: a device that obeys does so in seconds, a meter needs its window. */
export const AT_ONCE_MS = 15_000;
/** A late tick is forgiven after this much punctual time. */
export const LATE_MS = 5_000;
/** A reading of the clock serves for this long. */
export const CLOCK_MS = 10 * 60_000;

/** While the heater is on its temperature must rise by this share of what its power would give; when off, by less. */
export const HEATER_LEAST_RISE_SHARE = 0.2;
export const HEATER_OFF_RISE_SHARE = 0.4;
/** A heat phase may take this much longer than computed. */
export const HEAT_TIME_GRACE = 1.6;

/** Salt makes a vat fuller: crystals weigh about 2.1 kg a litre (from memory), and dissolved they take less room. */
export const SALT_L_PER_KG = 0.5;
/** A batch is accepted within this share of the tolerance, so that a probe's noise does not stop its delivery at the edge. */
export const ACCEPTED_SHARE = 0.7;
/** A salinity counts as explained by its salt within this share of the yield: marks, scales and moist salt err by some per cent. */
export const YIELD_DOUBT = 0.06;
/**
 * Salinity that is this share off what the salt makes by the middle of the contents, or trims that ask for so much more of
 * it, want a second instrument: beyond what the marks of a vat and moist salt usually err by, and below what harms.
 */
export const TENTH = 0.1;
/** Two instruments that agree say something of each other's scale from this share of the target on. */
export const CONFIRMS_SHARE = 2 / 3;
/** An open vat loses at most this share of its water in a day: the salt stays. */
export const EVAPORATION_SHARE_PER_DAY = 0.01;
/** Brine can't hold more: about 26 % by mass is saturated (from memory). Whatever a person measures up to here is kept. */
export const MOST_MEASURED = 300;
/** The most salt that one message may tell of, kg: a number beyond was mistyped. */
export const MOST_POURED_KG = 10_000;
/** A probe that gives no valid reading for this long in circulating water is not waited for: a person is asked. */
export const PROBE_PATIENCE_MS = 5 * 60_000;
/** An instrument errs by this much salinity; two may differ by it and the tolerance. */
export const SECOND_INSTRUMENT = 0.5;
/** A measurement that is still not steady after this many settle times is looked at by a person. */
export const STEADY_PATIENCE = 6;
/** A transfer starts for no less than this share of the batch, so that a slow purifier does not make the pump stutter. */
export const TRANSFER_CHUNK_SHARE = 0.1;
/** A phase that waits longer than this for a person says so as an alarm. */
export const PERSON_PATIENCE_MS = 4 * 3_600_000;
/** Without a low float a system is low from this share below its normal volume: a tank of reef fish loses its overflow far sooner. */
export const SYSTEM_LOW_SHARE = 0.1;
/** A system that is low or high for longer is urgent: a pump chamber runs dry, a sump runs over, and nothing here mends it. */
export const SYSTEM_LEVEL_PATIENCE_MS = 2 * 3_600_000;
/** What should end by itself within minutes (a way that is busy, a pause after a short of pressure, a message that was lost) is told after this. */
export const STANDSTILL_MS = 2 * 3_600_000;
/** Outputs that were told to be off are proven off within seconds, or their lease ends within minutes. */
export const COME_TO_REST_MS = 10 * 60_000;
/** A promise may take this many times as long as the file's slowest flows and longest times need. */
export const PROMISE_GRACE = 2;
/** The reserve may be short for this long, and at least as long as the longest refill, before somebody is told. */
export const RESERVE_PATIENCE_MS = 24 * 3_600_000;
/** An alarm that is not a trip returns to normal after this much quiet, so that a fault that is tried again does not chatter. */
export const ALARM_QUIET_MS = 3 * 60_000;
/**
 * Shelving an alarm ends by itself after at most this, by priority: the more it matters, the sooner it is back. ISA-18.2
 * asks for a limit and leaves its length to the site; a shift of eight hours is the usual one.
 */
export const SHELVE_MOST_MS = { urgent: 3_600_000, soon: 8 * 3_600_000, notice: 24 * 3_600_000 } as const;
/** Whoever is on the way calls off repeats and second persons for so long at most: then somebody else is called. */
export const COMING_MOST_MS = 2 * 3_600_000;
/** More alarms than this in ten minutes are a flood (ISA-18.2, after EEMUA 191): more than a person can take in. */
export const FLOOD_ALARMS = 10;
export const FLOOD_MS = 10 * 60_000;
/** The same alarm this often in a minute chatters (ISA-18.2). */
export const CHATTERING_ALARMS = 3;
export const CHATTERING_MS = 60_000;
/** An alarm that stands for longer is stale (ISA-18.2): either nobody can do anything, or nobody does. */
export const STALE_ALARM_MS = 24 * 3_600_000;
/** So many announcements are remembered: four floods at once. */
export const ANNOUNCED_KEPT = 40;
/** A share that fell below its bound counts as risen again only this much above it. */
export const RESERVE_DEADBAND = 0.05;

/** A row is bypassed for no longer than this: an evening's work, after which somebody must think again. */
export const BYPASS_MOST_MS = 4 * 3_600_000;

/** The durations since the proof tests are moved on this often: nobody needs them to the second. */
export const PROOF_FOLD_MS = 60_000;
/** They stop counting here. */
export const PROOF_AGE_CAP_MS = 800 * 86_400_000;
/** A proof test is announced this long before it is due, and no longer than a quarter of its period. */
export const PROOF_WARN_MS = 14 * 86_400_000;
/** Everything must be off, the contact moved, and put back, each within this: the way to the vat, and a ladder. */
export const PROOF_WAIT_MS = 5 * 60_000;
/** From the contact's word to the row's answer, above what the station file lets the contact stand. */
export const PROOF_ANSWER_MS = 5_000;

/** What a person saw is a sentence: "ok" says nothing to whoever reads it after the next trip. */
export const SEEN_LEAST = 8;

/** The durations since valves last moved are counted on this often. */
export const EXERCISE_FOLD_MS = 60_000;
/** A valve that the service moves itself is late when it is due for longer than this share of its period. */
export const EXERCISE_LATE_SHARE = 1 / 4;
/** After an exercise that failed, or that something broke off, none begins for this long. */
export const EXERCISE_PAUSE_MS = 60 * 60_000;

/** Finished batches that the yield of the salt is learned from. */
export const YIELDS_KEPT = 8;

invariant(CHATTER_CLEAR < CHATTER_LIMIT, 'chatter clears below its limit', { CHATTER_CLEAR, CHATTER_LIMIT });
invariant(RENEWAL_SHARE < 0.5, 'at least one renewal may be lost', { RENEWAL_SHARE });
invariant(FLUSH_LEAST_MS < FLUSH_MOST_MS, 'a flush ends', { FLUSH_LEAST_MS, FLUSH_MOST_MS });
invariant(OFF_REPEAT_MS < OFF_SLOW_MS, 'slow repeats are slower', { OFF_REPEAT_MS, OFF_SLOW_MS });
invariant(CHATTERING_MS <= FLOOD_MS, 'one memory serves both counts', { CHATTERING_MS, FLOOD_MS });
invariant(ANNOUNCED_KEPT > FLOOD_ALARMS, 'a flood is remembered', { ANNOUNCED_KEPT, FLOOD_ALARMS });
invariant(PROOF_ANSWER_MS < PROOF_WAIT_MS, 'an answer is awaited', { PROOF_ANSWER_MS, PROOF_WAIT_MS });
invariant(HEATER_OFF_RISE_SHARE > HEATER_LEAST_RISE_SHARE, 'on and off can be told apart', {
  HEATER_OFF_RISE_SHARE,
});

/** A sensor may miss a message or two before somebody is told; the row itself never waits. */
export const BLIND_ALARM_MS = 30_000;
