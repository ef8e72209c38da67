import { spawnSync } from 'node:child_process';
import { readdirSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { loadStation } from '../../src/station/load.ts';
import { wordsOf } from '../../src/station/problem.ts';
import { textOf } from './stations.ts';

const FOLDER = 'schemas/examples/invalid';
const ROOT = fileURLToPath(new URL('../../', import.meta.url));

/** What the one message of each file must say: where, what was found, what would do. */
const MESSAGES: Readonly<Record<string, readonly string[]>> = {
  'below-zero': ['/routes/circulate/runDown:', '"-3 s"', 'below zero', 'a duration in ms, s, min, h, d'],
  'capacity-missing': ['/vessels/mixing:', 'no "capacity"', '"capacity": "320 L"'],
  'comma-after-the-last': [
    ':107:5 ',
    'found "}" out of place',
    'commas between members, none after the last',
  ],
  'command-topic-is-read': [
    '/actuators/circulation-pump/command/topic:',
    '/actuators/circulation-pump/feedback reads',
  ],
  'exchange-without-drain': ['/process/exchange/system:', 'no route from it to waste'],
  'heater-outside-the-vat': ['/heaters/heater/in:', 'whose role is "waste"', 'a heater in the mixing vat'],
  'key-misspelt': ['/vessels/mixing/capcity:', 'unknown key "capcity"', 'Did you mean "capacity"?'],
  'key-missing': ['/sensors/mixing-low:', 'no "topic" here', 'A full MQTT topic'],
  'key-twice': [':53:5 ', '/sensors/mixing-low:', 'a second time'],
  'kind-misspelt': ['/sensors/mixing-low/measures:', '"flaot"', 'Did you mean "float"?'],
  'lease-does-not-fit': [
    '/actuators/inlet-valve/lease/lasts:',
    'lets 9 L into "mixing" after the high float (52 L + 0.6 L), where 5.6 L are left',
    'a lease of at most 1680 s',
  ],
  'level-without-shape': ['/sensors/mixing-level/unit:', 'whose shape nobody knows', 'a "table" beside it'],
  'marks-in-wrong-order': [
    '/sensors/mixing-high/mark:',
    'the high float at 25 L, not above the contents of a batch at 48 L',
    'the low float (6 L) < the contents of a batch (48 L) <= the high float (25 L)',
  ],
  'name-with-capitals': ['/vessels/Floor Drain:', 'Lower-case letters', 'Did you mean "floor-drain"?'],
  'no-circulation': ['/routes:', 'no circulation in the mixing vat', 'through a pump'],
  'number-without-unit': [
    '/vessels/mixing/capacity:',
    'found 60, a number without a unit',
    'a volume in L, mL',
  ],
  'one-word-for-wet-and-dry': ['/sensors/mixing-low/dry:', '"wet" for both'],
  'placeholder-misspelt': ['/actuators/inlet-valve/command/on/s:', '"$leasesS"', '$leaseMs, $leaseS'],
  'pulses-without-a-factor': ['/sensors/inlet-meter/unit:', '"pulses" without "pulsesPerLitre"'],
  'raw-conductivity-without-temperature': [
    '/sensors/mixing-conductivity:',
    '"temperatureFrom"',
    'compensatedTo',
  ],
  'reference-to-nothing': [
    '/routes/fill/through/0:',
    'no actuator of this station',
    'accepted: inlet-valve, circulation-pump',
    'Did you mean "inlet-valve"?',
  ],
  'role-unknown': ['/vessels/mixing/role:', '"mixer"', 'Did you mean "mixing"?'],
  'topic-of-the-service': [
    '/sensors/mixing-high/topic:',
    'prefix of the service itself',
    'not under "vatwarden/"',
  ],
  'two-mixing-vats': ['/vessels/spare/role:', 'a second vessel with the role "mixing"'],
  'two-sensors-at-one-topic': ['/sensors/mixing-high/topic:', 'which /sensors/mixing-low reads already'],
  'unit-misspelt': ['/routes/circulate/flow/most:', "unknown unit 'l/mn'", 'Did you mean "20 L/min"?'],
  'unit-of-a-reading-unknown': ['/sensors/mixing-temperature/unit:', '"C"', 'Did you mean "degC"?'],
  'unit-of-another-kind': ['/routes/fill/flow/most:', "'L' is a unit of volume", 'a flow in L/min'],
  'upstream-circle': [
    '/actuators/inlet-valve/upstream:',
    '"inlet-valve" below "master-valve" below "inlet-valve"',
  ],
  'valid-after-another-route': [
    '/sensors/mixing-conductivity/validAfter/route:',
    'the route "drain", which does not pass "mixing"',
  ],
  'wildcard-in-topic': ['/sensors/mixing-high/topic:', '"bench/+/high"', 'without wildcards'],
};

function check(...args: readonly string[]) {
  return spawnSync(process.execPath, ['dist/cli/main.js', 'check', ...args], { cwd: ROOT, encoding: 'utf8' });
}

const files = readdirSync(new URL(`../../${FOLDER}/`, import.meta.url)).map((file) =>
  file.replace('.json', ''),
);

it('Every invalid example has its expected message, and there are at least fourteen', () => {
  expect(files.toSorted()).toEqual(Object.keys(MESSAGES).toSorted());
  expect(files.length).toBeGreaterThanOrEqual(14);
});

describe.each(files)('%s', (name) => {
  it('gives one message that names file, place, what was found and what would do', () => {
    const path = `${FOLDER}/${name}.json`;
    const loaded = loadStation(path, textOf(path));
    const errors = loaded.ok ? [] : loaded.errors;
    expect(errors.map(wordsOf)).toHaveLength(1);
    const [words = ''] = errors.map(wordsOf);
    for (const part of [`${path}:`, ...(MESSAGES[name] ?? [])]) expect(words).toContain(part);
  });
});

it('The command check prints the same message, counts it, and exits with 2', () => {
  for (const name of ['marks-in-wrong-order', 'comma-after-the-last', 'number-without-unit']) {
    const { status, stdout, stderr } = check(`${FOLDER}/${name}.json`);
    for (const part of MESSAGES[name] ?? []) expect(stdout).toContain(part);
    expect(stdout.trimEnd().split('\n').at(-1)).toBe('1 error, 0 warnings');
    expect([status, stderr]).toEqual([2, '']);
  }
});

it('The command check gives the same errors as JSON', () => {
  const { status, stdout } = check(`${FOLDER}/unit-misspelt.json`, '--json');
  expect(status).toBe(2);
  expect(JSON.parse(stdout)).toMatchObject({
    ok: false,
    errors: [{ pointer: '/routes/circulate/flow/most', nearest: '"20 L/min"', line: 34 }],
    warnings: [],
  });
});
