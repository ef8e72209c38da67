// Ids that name nothing. One wrong id is one mistake however often it is written: whoever renamed a vessel wants one
// sentence and the list of places.
import { member } from '../pointer.ts';
import { listed, type Mistake, nearest, quoted } from '../problem.ts';
import { entries, type Section, type Sketch } from '../sketch.ts';

export interface Reference {
  readonly pointer: string;
  readonly section: Section;
  readonly id: string;
}

const NOUNS: Readonly<Record<Section, string>> = {
  devices: 'device',
  vessels: 'vessel',
  routes: 'route',
  sensors: 'sensor',
  actuators: 'actuator',
  heaters: 'heater',
  dosers: 'doser',
};

export function* danglingReferences(sketch: Sketch): Iterable<Mistake> {
  const dangling = danglingOf(sketch);
  const groups = new Map<string, Reference[]>();
  for (const reference of dangling) {
    const name = `${reference.section}/${reference.id}`;
    groups.set(name, [...(groups.get(name) ?? []), reference]);
  }
  for (const [first, ...others] of groups.values()) {
    if (first === undefined) continue;
    const ids = sketch.ids(first.section);
    const meant = nearest(first.id, ids);
    const also = others.length === 0 ? '' : ` (also at ${others.map(({ pointer }) => pointer).join(', ')})`;
    yield {
      pointer: first.pointer,
      found: `${quoted(first.id)}, which is no ${NOUNS[first.section]} of this station${also}`,
      accepted: listed(ids),
      nearest: meant === undefined ? undefined : quoted(meant),
    };
  }
}

function danglingOf(sketch: Sketch): Reference[] {
  return referencesOf(sketch).filter(({ section, id }) => !sketch.has(section, id));
}

/** Whether some id names nothing in a section: then what seems to be missing there may only be misnamed. */
export function dangles(sketch: Sketch, section: Section): boolean {
  return danglingOf(sketch).some((reference) => reference.section === section);
}

/** Every place where the file names something by its id. */
export function referencesOf(sketch: Sketch): Reference[] {
  const found: Reference[] = [];
  const note = (section: Section, id: string | undefined, ...at: readonly (string | number)[]) => {
    if (id !== undefined) found.push({ section, id, pointer: member('', ...at) });
  };
  for (const { id, entry } of entries(sketch, 'routes')) {
    note('vessels', entry.from, 'routes', id, 'from');
    note('vessels', entry.to, 'routes', id, 'to');
    for (const list of ['through', 'shut'] as const) {
      for (const [index, name] of (entry[list] ?? []).entries())
        note('actuators', name, 'routes', id, list, index);
    }
    for (const [index, name] of (entry.notWith ?? []).entries())
      note('routes', name, 'routes', id, 'notWith', index);
  }
  for (const section of ['heaters', 'dosers'] as const) {
    for (const { id, entry } of entries(sketch, section)) {
      note('vessels', entry.in, section, id, 'in');
      note('actuators', entry.switch, section, id, 'switch');
    }
  }
  for (const section of ['sensors', 'actuators'] as const) {
    for (const { id, entry } of entries(sketch, section))
      note('devices', entry.device, section, id, 'device');
  }
  for (const { id, entry } of entries(sketch, 'sensors')) {
    if ('vessel' in entry) note('vessels', entry.vessel, 'sensors', id, 'vessel');
    if ('route' in entry) note('routes', entry.route, 'sensors', id, 'route');
    if ('temperatureFrom' in entry) note('sensors', entry.temperatureFrom, 'sensors', id, 'temperatureFrom');
    if ('validAfter' in entry) note('routes', entry.validAfter?.route, 'sensors', id, 'validAfter', 'route');
  }
  for (const { id, entry } of entries(sketch, 'actuators')) {
    note('actuators', entry.upstream, 'actuators', id, 'upstream');
  }
  note('actuators', sketch.file.alive, 'alive');
  for (const [system, exchange] of Object.entries(sketch.file.process?.exchange ?? {})) {
    note('vessels', system, 'process', 'exchange', system);
    note('actuators', exchange?.inhibitTopOff, 'process', 'exchange', system, 'inhibitTopOff');
  }
  return found;
}
