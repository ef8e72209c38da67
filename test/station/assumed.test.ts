import { expect, it } from 'vitest';
import { ASSUMED_ROWS, assumedIn, assumedLines } from '../../src/station/assumed.ts';
import { least, load, spoilt, textOf } from './stations.ts';

/** Defaults that decide nothing at the station: what a simulation begins with, names, factors of 1, the hub's side. */
const NOT_SHOWN = /^(Initial\/|Scale$|Offset$|Homie\/|Process\/salt\/name$)/u;

function assumed(station: unknown) {
  const loaded = load(station);
  if (!loaded.ok) throw new Error('not a station');
  return assumedIn(loaded.plant, loaded.station);
}

interface Node {
  readonly description?: string;
  readonly properties?: Readonly<Record<string, Node>>;
}

it('Every default that the schema states, and that decides something, is shown where it was taken', () => {
  const found: string[] = [];
  const walk = (node: Node, path: string): void => {
    if (/default:? /iu.test(node.description ?? '') && !NOT_SHOWN.test(path)) found.push(path);
    for (const [key, inner] of Object.entries(node.properties ?? {})) walk(inner, `${path}/${key}`);
  };
  const schema = JSON.parse(textOf('schemas/station.schema.json')) as { $defs: Record<string, Node> };
  for (const [name, node] of Object.entries(schema.$defs)) walk(node, name);
  const shown = new Set(ASSUMED_ROWS.map(({ states }) => states));
  expect(found.filter((path) => !shown.has(path))).toEqual([]);
  expect([...shown].filter((path) => !found.includes(path))).toEqual([]);
});

it('A value that was assumed is said with its unit, and with the key that states it', () => {
  const values = new Map(assumed(least()).map(({ at, value }) => [at, value]));
  expect(values.get('/vessels/fresh/margin')).toBe('3 L');
  expect(values.get('/routes/transfer/flow/usual')).toBe('5 L/min');
  expect(values.get('/actuators/circulation-pump/feedback/within')).toBe('3 s');
  expect(values.get('/process/batch/steady')).toBe('0.25 PSU over 5 min');
  expect(values.get('/process/refill/longestRun')).toBe('25 h');
  expect(values.get('/policy/starts/batch')).toBe('person');
});

it('What the file states is not among them, and what it takes out again is', () => {
  const at = '/vessels/fresh/margin';
  const stated = spoilt(least(), at, '4 L');
  expect(assumed(stated).some((one) => one.at === at)).toBe(false);
  expect(assumed(spoilt(stated, at, undefined)).some((one) => one.at === at)).toBe(true);
});

it('On a page there is one line for each value, with all that have it', () => {
  const lines = assumedLines(assumed(least()));
  const priming = lines.filter((line) => line.startsWith('/routes/ID/priming'));
  expect(priming).toHaveLength(1);
  expect(priming[0]).toMatch(/5 s +\(.*transfer.*supply/u);
});
