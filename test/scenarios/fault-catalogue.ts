// What can go wrong, and which scenario shows what the service does about it. A row names the files that show it, and the
// words that must stand in them: the alarm that tells a person what to do, the trip, the hold, or the quiet end of a fault
// that must change nothing. Where the fault lies on the wire, tests of the bridge show it over a real broker as well.

export interface FaultRow {
  readonly id: string;
  readonly words: string;
  readonly scenarios: readonly string[];
  /** Must stand in what happened, in each of the scenarios or in one of them. */
  readonly shows: RegExp;
  /** Tests that name it in a title, where the wire itself is the matter. */
  readonly wire?: string;
}

const ALARM = (id: string): RegExp => new RegExp(`alarm ${id} unacknowledged: .{40,}`, 'u');
const HARMLESS = /books: spilled 0\.0 L, from hoses 0\.0 L, pumps dry 0 s, heater bare 0 s/u;

// biome-ignore format: a table reads as a table
export const FAULT_CATALOGUE: readonly FaultRow[] = [
  { id: 'F01', words: 'the link dies while something runs, and the off never arrives', scenarios: ['link-lost-while-transferring'], shows: ALARM('I-25/marram-point'), wire: 'outages' },
  { id: 'F02', words: 'the loop stands still while timers live: nobody may renew a lease', scenarios: ['service-stands-still'], shows: ALARM('I-26/marram-point') },
  { id: 'F03', words: 'a device comes back on by itself', scenarios: ['relay-restarts-on'], shows: ALARM('I-23/supply-pump/stays-on') },
  { id: 'F04', words: 'a stored command replays', scenarios: ['stored-command-replayed'], shows: ALARM('I-24/inlet-valve/fills'), wire: 'arrivals' },
  { id: 'F05', words: 'an empty or unreadable message, which some devices take for a toggle', scenarios: ['unreadable-command', 'command-topics-are-emptied', 'empty-message-from-a-float'], shows: /alarm (?:I-24\/circulation-pump|I-12\/fresh-high) unacknowledged: .{40,}/u, wire: 'codec' },
  { id: 'F06', words: 'what was sent during an outage comes hours late', scenarios: ['link-lost-while-transferring'], shows: /batch held, transfer/u, wire: 'outbox' },
  { id: 'F07', words: 'a connection that looks alive and carries nothing', scenarios: ['half-open-link'], shows: ALARM('I-25/marram-point'), wire: 'link' },
  { id: 'F08', words: 'two services with one name', scenarios: ['link-flaps'], shows: ALARM('I-25/marram-point'), wire: 'link' },
  { id: 'F09', words: 'the broker has lost its store: nothing stored may be needed', scenarios: ['link-lost-while-transferring', 'power-cut-in-the-transfer'], shows: /batch running, transfer[\s\S]*batch running, (?:transfer|mix)/u },
  { id: 'F10', words: 'the broker stands still', scenarios: ['broker-stalls'], shows: ALARM('I-25/marram-point'), wire: 'link' },
  { id: 'F11', words: 'a message is lost', scenarios: ['one-message-lost'], shows: HARMLESS },
  { id: 'F12', words: 'what was told is shown as what is', scenarios: ['feedback-silent'], shows: ALARM('I-12/transfer-pump') },
  { id: 'F13', words: 'the broker takes a command and drops it', scenarios: ['command-never-arrives'], shows: ALARM('I-23/circulation-pump/stays-off'), wire: 'link' },
  { id: 'F14', words: 'a sensor goes offline and comes back', scenarios: ['float-offline'], shows: ALARM('I-12/fresh-low') },
  { id: 'F15', words: 'a sensor never spoke, and silence looked dry', scenarios: ['overflow-float-never-spoke'], shows: ALARM('A-40/unheard') },
  { id: 'F16', words: 'a thermometer freezes while the heater is on', scenarios: ['thermometer-frozen'], shows: ALARM('I-19/heater') },
  { id: 'F17', words: 'a sensor that speaks only on change is taken for dead', scenarios: ['a-good-day-with-one-vat'], shows: /^(?![\s\S]*alarm I-12\/(?:\S+) unacknowledged)[\s\S]*batch running, ready/u },
  { id: 'F18', words: 'a bus thermometer says 85', scenarios: ['thermometer-of-a-bus-says-85'], shows: ALARM('I-12/mixing-temperature') },
  { id: 'F19', words: 'a contact bounces', scenarios: ['float-chatters'], shows: ALARM('I-12/mixing-high') },
  { id: 'F20', words: 'a meter loses the first pulses of every run', scenarios: ['meter-misses-the-first-pulses'], shows: HARMLESS },
  { id: 'F21', words: 'a counter begins again from nothing', scenarios: ['transfer-meter-restarts'], shows: HARMLESS },
  { id: 'F22', words: 'the leak sensor is silent', scenarios: ['leak-sensor-silent'], shows: ALARM('I-13/tray-leak') },
  { id: 'F23', words: 'a float hangs', scenarios: ['high-float-hangs-dry', 'high-float-hangs-wet', 'float-hangs-dry-in-the-fresh-vat', 'proof-test-finds-a-glued-float'], shows: /alarm I-10\/mixing unacknowledged: .{40,}|proof test of I-02\/fresh by Ada: failed|spilled 0\.0 L/u },
  { id: 'F24', words: 'a relay is welded', scenarios: ['transfer-pump-welded'], shows: ALARM('I-23/transfer-pump/stays-on') },
  { id: 'F25', words: 'a little flows though everything is off', scenarios: ['valve-leaks-a-little'], shows: ALARM('I-09/transfer') },
  { id: 'F26', words: 'a relay pulses while it boots', scenarios: ['relay-pulses-at-boot'], shows: HARMLESS },
  { id: 'F27', words: 'a relay does not count its lease', scenarios: ['relay-ignores-its-lease'], shows: ALARM('I-25/marram-point') },
  { id: 'F28', words: 'a pump is stopped and restarted again and again', scenarios: ['pump-is-not-made-to-stutter'], shows: /starts: .*transfer [2-9],/u },
  { id: 'F29', words: 'the hard-wired layer acts alone', scenarios: ['hard-wired-float-cuts-the-pump'], shows: ALARM('I-23/transfer-pump/stays-off') },
  { id: 'F30', words: 'the service dies in the middle of something', scenarios: ['power-cut-while-delivering'], shows: /batch running, ready/u, wire: 'process' },
  { id: 'F31', words: 'a wait goes on, or ends, over a restart', scenarios: ['power-cut-at-night-in-the-mix'], shows: /batch running, mix\/measure/u },
  { id: 'F32', words: 'the clock jumps', scenarios: ['clock-jumps'], shows: HARMLESS, wire: 'clockwork' },
  { id: 'F33', words: 'somebody switches by another way', scenarios: ['somebody-switches-by-hand'], shows: ALARM('I-24/circulation-pump') },
  { id: 'F34', words: 'two services command one relay', scenarios: ['somebody-else-at-the-switch'], shows: ALARM('I-24/transfer-pump/fills'), wire: 'own-commands' },
  { id: 'F35', words: 'the disk is full or read-only', scenarios: ['disk-full'], shows: ALARM('I-27/marram-point'), wire: 'keeper' },
  { id: 'fill-valve-stuck-open', words: 'the fill valve jams open', scenarios: ['fill-valve-stuck-open'], shows: ALARM('I-23/inlet-valve/stays-on') },
  { id: 'pump-welded-on', words: 'a pump does not stop', scenarios: ['transfer-pump-welded'], shows: ALARM('I-23/transfer-pump/stays-on') },
  { id: 'siphon', words: 'water runs on through a stopped pump', scenarios: ['supply-siphons'], shows: ALARM('I-09/supply') },
  { id: 'hose-off', words: 'a hose comes off', scenarios: ['transfer-hose-comes-off'], shows: ALARM('I-11/tray-leak') },
  { id: 'heater-welded', words: 'a heater does not go off', scenarios: ['heater-welded'], shows: ALARM('I-23/heater-relay/stays-on') },
  { id: 'float-stuck-wet', words: 'a float hangs wet', scenarios: ['high-float-hangs-wet'], shows: ALARM('I-10/mixing') },
  { id: 'float-stuck-dry', words: 'a float hangs dry', scenarios: ['high-float-hangs-dry', 'float-hangs-dry-in-the-fresh-vat'], shows: HARMLESS },
  { id: 'float-chatters', words: 'a float flutters', scenarios: ['float-chatters'], shows: ALARM('I-12/mixing-high') },
  { id: 'salt-dumped-twice', words: 'the salt goes in twice', scenarios: ['salt-poured-twice'], shows: ALARM('A-01/batch') },
  { id: 'salt-never-added', words: 'the salt is confirmed and never goes in', scenarios: ['salt-never-poured'], shows: /please: the probe says 0\.0, and by the salt and the water that went in it should be/u },
  { id: 'wrong-amount', words: 'another amount goes in than was confirmed', scenarios: ['wrong-amount-of-salt'], shows: ALARM('A-01/batch') },
  { id: 'probe-fouled', words: 'the conductivity probe reads low', scenarios: ['probe-fouled'], shows: ALARM('A-01/batch') },
  { id: 'unsalted-two-taps', words: 'unsalted water: 4.1 L delivered on one-vat by two taps', scenarios: ['unsalted-water-reported-as-target'], shows: /with another instrument than Refractometer[\s\S]*delivered 0\.0 L/u },
  { id: 'pure-water-accepted', words: '260 L of pure water accepted at 35.0 with 0 kg of salt and heated', scenarios: ['pure-water-reported-as-salted'], shows: /refractometer says 35\.0, and by the salt and the water that went in it should be[\s\S]*delivered 0\.0 L/u },
  { id: 'person-slips', words: 'a person types the target, or swaps the digits', scenarios: ['person-types-the-target', 'person-swaps-two-digits'], shows: /of it outside tolerance 0\.0 L/u },
  { id: 'probe-low', words: 'probe 12-20 % low delivers 41.5-44.5', scenarios: ['probe-reads-a-sixth-low-on-floats', 'probe-fouls-later-on-floats'], shows: /measure again, clean and calibrate the probe[\s\S]*of it outside tolerance 0\.0 L/u },
  { id: 'probe-raw', words: 'raw probe declared compensated delivers at 42 g/kg, and the other way round', scenarios: ['probe-is-raw-but-declared-compensated', 'probe-compensates-but-is-declared-raw'], shows: /of it outside tolerance 0\.0 L/u },
  { id: 'probe-dead', words: 'the probe dies while a batch circulates', scenarios: ['probe-dies-in-the-mix'], shows: /please: the probe has given no valid reading for some minutes/u },
  { id: 'purifier-exhausted', words: 'the purified water is not pure', scenarios: ['resin-is-spent'], shows: ALARM('I-29/refill') },
  { id: 'feed-pressure-lost', words: 'no water comes from the inlet', scenarios: ['inlet-without-pressure'], shows: ALARM('I-07/refill/starved') },
  { id: 'own-top-off', words: "the system's own top-off runs during an exchange", scenarios: ['top-off-fights-the-exchange'], shows: ALARM('I-30/drain') },
  { id: 'return-pump-stopped', words: 'the return pump stops and the level at the floats rises', scenarios: ['return-pump-stopped'], shows: ALARM('I-21/supply') },
  { id: 'system-drawn-in-a-step', words: 'a bucket is drawn from a system that is being drained', scenarios: ['bucket-in-the-middle-of-a-step'], shows: ALARM('I-21/drain/low') },
  { id: 'system-loses-water', words: 'a system loses much of its water', scenarios: ['system-loses-a-third'], shows: ALARM('A-09/system/low') },
  { id: 'two-want-one-vat', words: 'two systems want the last of one vat', scenarios: ['two-systems-at-one-vat'], shows: HARMLESS },
  { id: 'flows-at-their-bounds', words: 'pumps run at the two ends of what the file says, and nothing watches the level', scenarios: ['system-that-nothing-watches'], shows: /please: Check the level of the [\s\S]*spilled 0\.0 L/u },
  { id: 'paused-and-forgotten', words: 'a person pauses a unit, and nobody comes back', scenarios: ['batch-paused-and-forgotten', 'batch-that-nobody-starts'], shows: ALARM('A-10/batch') },
  { id: 'power-cut', words: 'the power fails, at any moment', scenarios: ['power-cut-in-the-transfer', 'power-cut-at-night-in-the-mix', 'power-cut-while-delivering'], shows: HARMLESS, wire: 'kills' },
  { id: 'shut-down-and-silent', words: 'the sensor that tripped falls silent, and somebody resets', scenarios: ['leak-sensor-wet-then-drowned', 'welded-valve-and-the-broker-away'], shows: /refused: I-(?:11|23)\/\S+ .*look for yourself/u },
  { id: 'memory-lost', words: 'the state file is damaged in the middle of a trip', scenarios: ['memory-lost-in-the-middle-of-a-flood'], shows: ALARM('I-36/marram-point'), wire: 'process' },
  { id: 'file-changed', words: 'the plumbing of the station file is changed in the middle of a trip', scenarios: ['file-changed-in-the-middle-of-a-trip'], shows: ALARM('I-36/marram-point'), wire: 'process' },
  { id: 'only-changes', words: 'devices report only what changes, and were there before the service', scenarios: ['devices-report-only-changes'], shows: ALARM('A-40/unheard') },
  { id: 'topic-emptied', words: 'a device empties its command topic when it connects', scenarios: ['command-topics-are-emptied'], shows: /^(?![\s\S]*(?:alarm|trip) )[\s\S]*batch running, mix\/measure/u, wire: 'arrivals' },
  { id: 'outputs-swapped', words: 'the outputs of two pumps are swapped', scenarios: ['two-outputs-are-swapped'], shows: /alarm I-09\/supply unacknowledged: .*their outputs may be swapped/u },
];

/** The rows as `test/README.md` shows them. */
export function catalogueTable(): string {
  const rows = FAULT_CATALOGUE.map(
    ({ id, words, scenarios, wire }) =>
      `| ${id} | ${words} | ${scenarios.map((name) => `\`${name}\``).join(', ')} | ${wire === undefined ? '' : `\`${wire}\``} |`,
  );
  return ['| fault | what happens | scenarios | on the wire |', '| --- | --- | --- | --- |', ...rows].join(
    '\n',
  );
}
