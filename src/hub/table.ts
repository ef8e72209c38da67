// What a hub is told and may ask: the one table. The Homie description, the values, the commands, the messages for other
// hubs, the AsyncAPI document and the page for people are all read from it, so none of them can say something of its own.
//
// What may be asked is here and nowhere else: start, hold, restart, an exchange, salt that was added, a salinity that was
// measured, an alarm that was seen, upkeep that was done. No row names an actuator or an interlock, and a test holds that.

import { MOST_POURED_KG } from '../control/guard/limits.ts';
import { alarmText } from '../language/told.ts';
import {
  alarmMeant,
  allowed,
  doneBy,
  durationText,
  fixed,
  isTold,
  listed,
  measuredAs,
  number,
  one,
  type Part,
  prefixed,
  procedure,
  type Row,
  STAGES,
  steering,
  worst,
} from './row.ts';

// biome-ignore format: a table reads as a table
const STATION: readonly Row[] = [
  { id: 'link', name: 'Link', datatype: 'boolean', format: 'down,proven',
    words: 'Whether the service hears its own heartbeat through the broker.',
    value: ({ status }) => status.link.proven },
  { id: 'time-trusted', name: 'Time of day trusted', datatype: 'boolean', format: 'no,yes',
    words: 'Whether the clock is believed; schedules wait until it is.',
    value: ({ status }) => status.link.timeTrusted },
  number('reserve', 'Reserve', '%', "Water on hand as a share of the systems' volume.",
    ({ status }) => Number((100 * status.forecast.reserveShare).toFixed(1))),
  { id: 'reserve-restored-in', name: 'Reserve restored in', datatype: 'duration',
    words: 'An estimate. Nothing where it will not be restored as things stand.',
    value: ({ status }) => durationText(status.forecast.reserveInMs) },
  { id: 'ready-in', name: 'Batch ready in', datatype: 'duration',
    words: 'An estimate, without what people take. Nothing where nobody can say.',
    value: ({ status }) => durationText(status.forecast.readyInMs) },
  { id: 'waits-for-person', name: 'Waits for a person', datatype: 'boolean', format: 'no,yes',
    words: 'Whether somebody is needed on the way to the next batch.',
    value: ({ status }) => status.forecast.waitsForPerson },
  { id: 'trips', name: 'Trips', datatype: 'integer', unit: '#',
    words: 'How many trips are latched. They are reset at the station, not from a hub.',
    value: ({ status }) => status.trips.length },
  { id: 'trip-words', name: 'Trips in words', datatype: 'string', words: 'What tripped.',
    value: ({ status }) => status.trips.map(({ message }) => message.text).join('; ') },
  { id: 'unknown', name: 'Unknown', datatype: 'string', words: 'What nobody can know at the moment; empty: everything is known.',
    value: ({ status }) => status.unknown.join('; ') },
  { id: 'doubtful-sensors', name: 'Doubtful sensors', datatype: 'string', words: 'Sensors that are silent or faulty.',
    value: ({ status }) =>
      Object.entries(status.sensors).filter(([, { fresh }]) => !fresh).map(([id, { fault }]) => (fault === null ? id : `${id} (${fault})`)).join(', ') },
  { id: 'out-of-service', name: 'Out of service', datatype: 'string', words: 'Devices that somebody took out of service, and why.',
    value: ({ status }) => Object.entries(status.outOfService).map(([id, why]) => `${id} (${why})`).join(', ') },
  { id: 'bypasses', name: 'Bypasses', datatype: 'string', words: 'Interlocks that somebody switched off for a while, why, and for how long still.',
    value: ({ status }) => status.bypasses.map(({ row, reason, leftMinutes }) => `${row} (${reason}, ${leftMinutes} min)`).join(', ') },
  { id: 'proof-tests-overdue', name: 'Proof tests overdue', datatype: 'integer', unit: '#', words: 'How many floats and sensors nobody has tried by hand in time.',
    value: ({ status }) => Object.values(status.proofTests.rows).filter(({ standing }) => standing === 'overdue').length },
  { id: 'proof-tests-never-made', name: 'Proof tests never made', datatype: 'integer', unit: '#', words: 'How many floats and sensors nobody has tried by hand since commissioning.',
    value: ({ status }) => Object.values(status.proofTests.rows).filter(({ neverTried }) => neverTried).length },
  { id: 'proof-test', name: 'Proof test', datatype: 'string', words: 'The proof test that is under way, and what to do; empty: none.',
    value: ({ status }) => (status.proofTests.underWay === null ? '' : `${status.proofTests.underWay.row}: ${status.proofTests.underWay.message.text}`) },
  { id: 'last-command', name: 'Last command', datatype: 'enum', format: 'none,accepted,refused',
    words: 'What became of the last thing that was asked through the hub.',
    value: ({ last }) => last.result },
  { id: 'last-command-words', name: 'Last command in words', datatype: 'string', words: 'Why it was accepted or refused.',
    value: ({ last }) => last.words },
];

// biome-ignore format: a table reads as a table
const TASK: readonly Row[] = [
  { id: 'task', name: 'Task', datatype: 'enum', format: 'none,add-salt,measure-salinity,look', words: 'What a person is asked to do.',
    value: ({ status }) => status.task?.task ?? 'none' },
  { id: 'words', name: 'In words', datatype: 'string', words: 'The same in a sentence.',
    value: ({ status }) => status.task?.message.text ?? '' },
  number('mass', 'Mass', 'kg', 'The dry salt that is asked for.', ({ status }) => status.task?.massKg),
  { id: 'salt-added', name: 'Salt added', datatype: 'float', unit: 'kg', format: `0.001:${MOST_POURED_KG}:0.001`,
    words: 'Tells how much dry salt went in. Only for a person who put it in.',
    ask: (value) => ({ request: 'salt-added', mass: `${value} kg` }) },
  { id: 'salt-as-asked', name: 'Salt added as asked', datatype: 'boolean', format: 'nothing,added',
    words: 'Tells (true) that exactly the mass went in that was asked for.',
    ask: (value) => (value === 'true' ? { request: 'salt-added' } : "only true tells something: salt can't be taken out") },
  { id: 'upkeep', name: 'Upkeep', datatype: 'string', words: 'What alarms left to be done later, each after its name; empty: nothing.',
    value: ({ status }) => status.upkeep.map(({ task, message }) => `${task}: ${message.text}`).join('; ') },
  { id: 'upkeep-done', name: 'Upkeep done', datatype: 'string',
    words: 'Tells that a task of upkeep is done and by whom, as `siphon-break/I-09/supply; Ada`. Only for the person who did it.',
    ask: doneBy },
];

// biome-ignore format: a table reads as a table
const BATCH: readonly Row[] = [
  ...procedure(({ status }) => status.units.batch),
  { id: 'stage', name: 'Stage', datatype: 'enum', format: STAGES, words: 'How far the batch is.',
    value: ({ status }) => status.units.batch.stage },
  { id: 'number', name: 'Number', datatype: 'integer', unit: '#', words: 'Which batch it is, counted from the first.',
    value: ({ status }) => status.units.batch.number },
  { id: 'accepted', name: 'Accepted', datatype: 'boolean', format: 'no,yes', words: 'Whether its salinity was measured and found right.',
    value: ({ status }) => status.units.batch.accepted },
  number('age', 'Age', 'h', 'Since it was accepted.', ({ status }) => status.units.batch.ageHours),
  { id: 'trims', name: 'Trims', datatype: 'integer', unit: '#', words: 'How often it was corrected.',
    value: ({ status }) => status.units.batch.trims },
  number('salt-added', 'Salt added', 'kg', 'Dry salt that went into it.', ({ status }) => status.units.batch.saltAddedKg),
  number('yield', 'Yield', 'kg/kg', 'Dissolved sea salts per dry product, as learnt from the last batches.', ({ status }) => status.units.batch.yieldKgPerKg),
  number('system-shift', 'Shift of the system', 'K', "By how much a day's exchange would move the system's temperature.", ({ status }) => status.units.batch.systemShiftK),
  ...steering('batch', ({ units }) => [units.batch]),
];

// biome-ignore format: a table reads as a table
const SYSTEM: readonly Row[] = [
  ...procedure(({ status }, id) => status.units.exchange[id]),
  { id: 'step', name: 'Step', datatype: 'enum', format: 'rest,drain,supply', words: 'Which half of a step runs.',
    value: ({ status }, id) => status.units.exchange[id]?.step ?? null },
  number('due', 'Due', 'L', 'What the daily exchange still owes.', ({ status }, id) => status.units.exchange[id]?.dueL),
  number('requested', 'Requested', 'L', 'What is left of a request.', ({ status }, id) => status.units.exchange[id]?.requestedL),
  number('difference', 'Difference', 'L', 'Drained minus delivered.', ({ status }, id) => status.units.exchange[id]?.differenceL),
  number('difference-error', 'Error of the difference', 'L', 'By how much that may be off, either way.', ({ status }, id) => status.units.exchange[id]?.differenceErrorL),
  number('today', 'Today', 'L', 'Delivered since midnight.', ({ status }, id) => status.units.exchange[id]?.todayL),
  number('yesterday', 'Yesterday', 'L', 'Delivered on the day before.', ({ status }, id) => status.units.exchange[id]?.yesterdayL),
  { id: 'steps', name: 'Steps', datatype: 'integer', unit: '#', words: 'How many steps it has made.',
    value: ({ status }, id) => status.units.exchange[id]?.steps ?? null },
  { id: 'exchange-now', name: 'Water change now', datatype: 'float', unit: 'L',
    format: ({ process }, id) => `0.1:${process.exchange[id]?.largestL ?? 0}:0.1`,
    words: 'Asks for so much to be exchanged, beside the daily exchange.',
    ask: (value, system) => ({ request: 'exchange-now', system, volume: `${value} L` }) },
];

// biome-ignore format: a table reads as a table
const ALARMS: readonly Row[] = [
  { id: 'active', name: 'Active', datatype: 'integer', unit: '#', words: 'How many alarms are not back to normal.',
    value: ({ status }) => status.alarms.filter(isTold).length },
  { id: 'unacknowledged', name: 'Unacknowledged', datatype: 'integer', unit: '#', words: 'How many of them nobody has seen yet.',
    value: ({ status }) => status.alarms.filter(({ state }) => state.endsWith('unacknowledged')).length },
  { id: 'in-ten-minutes', name: 'In ten minutes', datatype: 'integer', unit: '#', words: 'How many came in the last ten minutes; more than ten are a flood (ISA-18.2).',
    value: ({ status }) => status.alarmLoad.inTenMinutes },
  { id: 'silenced', name: 'Silenced', datatype: 'string', words: 'Alarms that are shelved, suppressed by design or out of service.',
    value: ({ status }) => status.alarms.filter(({ state }) => state === 'shelved' || state === 'suppressed-by-design' || state === 'out-of-service').map(({ alarm, state }) => `${alarm} (${state})`).join(', ') },
  { id: 'worst', name: 'Worst', datatype: 'enum', format: 'none,notice,soon,urgent', words: 'The highest priority among them.',
    value: ({ status }) => worst(status.alarms)?.priority ?? 'none' },
  { id: 'words', name: 'In words', datatype: 'string', words: 'What the worst one says, and what to do, in its order.',
    value: ({ status }) => { const first = worst(status.alarms); return first === undefined ? '' : alarmText(first.message, first.response); } },
  { id: 'acknowledge', name: 'Acknowledge', datatype: 'string', words: 'Tells that somebody has seen an alarm: its id, or `all`. It mends nothing and lets nothing run.',
    ask: (value, _, shown) => ({ request: 'acknowledge', alarm: alarmMeant(value, shown?.status.alarms ?? []) }) },
  { id: 'on-my-way', name: 'On the way', datatype: 'string', words: 'Tells who is on the way: for an hour nobody is called again, and no second person.',
    ask: (value) => ({ request: 'on-my-way', who: value, lasts: '1 h' }) },
];

// biome-ignore format: a table reads as a table
const VESSEL: readonly Row[] = [
  number('least', 'Least contents', 'L', 'What it holds for certain.', ({ status }, id) => status.vessels[id]?.leastL),
  number('most', 'Most contents', 'L', 'What it may hold.', ({ status }, id) => status.vessels[id]?.mostL),
  number('salinity', 'Salinity', 'PSU', 'Practical salinity, by a probe or by a person.', ({ status }, id) => status.vessels[id]?.salinity,
    { when: ({ vessels }, id) => vessels[id]?.role !== 'fresh' }),
  { id: 'salinity-measured', name: 'Salinity measured', datatype: 'string',
    words: 'Tells what a person measured and with what, as `35.1 PSU; refractometer`. Only for a person who measured.',
    when: ({ mixingId }, id) => id === mixingId, ask: measuredAs },
  number('temperature', 'Temperature', '°C', 'Its temperature.', ({ status }, id) => status.vessels[id]?.temperatureC,
    { when: ({ vessels }, id) => (vessels[id]?.temperature ?? null) !== null }),
];

// biome-ignore format: a table reads as a table
const ROUTE: readonly Row[] = [
  { id: 'running', name: 'Running', datatype: 'enum', format: 'no,maybe,yes', words: 'Whether water moves; maybe: nobody can know.',
    value: ({ status }, id) => status.routes[id]?.running ?? null },
  number('flow', 'Flow', 'L/min', 'What its meter says.', ({ status }, id) => status.routes[id]?.flowLpm,
    { when: ({ routes }, id) => (routes[id]?.meter ?? null) !== null }),
  ...allowed(({ status }, id) => status.routes[id]),
];

// biome-ignore format: a table reads as a table
const HEATER: readonly Row[] = [
  { id: 'on', name: 'On', datatype: 'boolean', format: 'off,on', words: 'Whether it was told to heat.',
    value: ({ status }, id) => status.heaters[id]?.on ?? null },
  ...allowed(({ status }, id) => status.heaters[id]),
];

// biome-ignore format: a table reads as a table
export const TABLE: readonly Part[] = [
  { kind: 'station', words: 'The station as a whole', over: one('station', 'Station'), node: fixed('station'), rows: STATION },
  { kind: 'alarms', words: 'Alarms', over: one('alarms', 'Alarms'), node: fixed('alarms'), rows: ALARMS },
  { kind: 'task', words: 'What a person is asked to do', over: one('task', 'Task'), node: fixed('task'), rows: TASK },
  { kind: 'refill', words: 'Refilling the fresh vat', over: ({ process }) => (process.refill === null ? [] : [{ id: 'refill', name: 'Refill' }]), node: fixed('refill'),
    rows: [...procedure(({ status }) => status.units.refill), ...steering('refill', ({ units }) => [units.refill])] },
  { kind: 'batch', words: 'The batch in the mixing vat', over: one('batch', 'Batch'), node: fixed('batch'), rows: BATCH },
  { kind: 'exchange', words: 'All exchanges together', over: ({ process }) => (Object.keys(process.exchange).length === 0 ? [] : [{ id: 'exchange', name: 'Exchange' }]), node: fixed('exchange'),
    rows: steering('exchange', ({ units }) => Object.values(units.exchange)) },
  { kind: 'system', words: 'The exchange of one system', node: prefixed('system'), rows: SYSTEM,
    over: ({ process, vessels }) => Object.keys(process.exchange).map((id) => ({ id, name: `Exchange, ${vessels[id]?.name ?? id}` })) },
  { kind: 'vessel', words: 'Whatever holds water', over: ({ vessels }) => listed(vessels).filter(({ id }) => Number.isFinite(vessels[id]?.capacityL)), node: prefixed('vessel'), rows: VESSEL },
  { kind: 'route', words: 'Ways by which water moves', over: ({ routes }) => listed(routes), node: prefixed('route'), rows: ROUTE },
  { kind: 'heater', words: 'Heaters', over: ({ heaters }) => listed(heaters), node: prefixed('heater'), rows: HEATER },
];
