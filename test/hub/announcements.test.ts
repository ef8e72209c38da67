import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { announcementsOf, propertyFillings, stationFillings } from '../../src/hub/announcements.ts';
import { deviceOf } from '../../src/hub/model.ts';
import type { AnnounceFile, Template } from '../../src/station/file/station.ts';
import { ANNOUNCEMENT_PLACEHOLDERS } from '../../src/station/placeholders.ts';
import { device, EXAMPLES, loaded, plantOf, stationFile } from './stations.ts';

const plant = plantOf('marram-point');
const marram = deviceOf(plant);
const announced = (...templates: readonly Template[]) =>
  announcementsOf(plant, { templates: [...templates] }, marram);

it('What the rules call a placeholder is exactly what is filled in, for a property and for the station', () => {
  const [property] = marram.properties;
  if (property === undefined) throw new Error('no property');
  const names = (ofProperty: boolean) =>
    Object.entries(ANNOUNCEMENT_PLACEHOLDERS)
      .filter(([, row]) => row.ofProperty === ofProperty)
      .map(([name]) => name);
  expect(Object.keys(stationFillings(marram)).toSorted()).toEqual(names(false).toSorted());
  expect(Object.keys(propertyFillings(marram, property)).toSorted()).toEqual(names(true).toSorted());
});

it.each(EXAMPLES)('A placeholder of %s has no value only where the table says that it may', (name) => {
  for (const property of device(name).properties) {
    const fillings = propertyFillings(device(name), property);
    for (const [placeholder, value] of Object.entries(fillings)) {
      if (value !== null) continue;
      expect([
        placeholder,
        ANNOUNCEMENT_PLACEHOLDERS[placeholder as keyof typeof ANNOUNCEMENT_PLACEHOLDERS].mayLack,
      ]).toEqual([placeholder, true]);
    }
  }
});

describe('templates', () => {
  it('a text that is one placeholder becomes its value, in longer text it is put in, and without a value the member goes', () => {
    const [message] = announced({
      each: 'property',
      where: { kind: ['system'], settable: true },
      topic: 'x/$station/$identifier',
      payload: {
        name: '$label',
        unit: '$unit',
        from: '$least',
        values: '$values',
        text: '$name of $stationName ($unit)',
        topics: ['$valueTopic', '$commandTopic', '$values'],
        device: { ids: ['$station'], model: '$model', fixed: 3, yes: true },
      },
    });
    expect(message?.topic).toBe('x/marram-point/marram-point-system-system-exchange-now');
    expect(JSON.parse(message?.payload ?? '')).toEqual({
      name: 'Exchange, Reef display, holding tank and sump, water change now',
      unit: 'L',
      from: 0.1,
      text: 'Water change now of Marram Point field station (L)',
      topics: [
        'homie/5/marram-point/system-system/exchange-now',
        'homie/5/marram-point/system-system/exchange-now/set',
      ],
      device: { ids: ['marram-point'], model: 'Vatwarden', fixed: 3, yes: true },
    });
  });

  it('a longer name is not read as a shorter one with something behind it', () => {
    const [message] = announced({
      each: 'station',
      topic: 'x/$station',
      payload: { name: '$stationName', both: '$station$stationName' },
    });
    expect(JSON.parse(message?.payload ?? '')).toEqual({
      name: plant.name,
      both: `marram-point${plant.name}`,
    });
  });

  it.each<
    readonly [
      string,
      NonNullable<Template['where']>,
      (unit: string | null, kind: string, settable: boolean, datatype: string) => boolean,
    ]
  >([
    ['datatype', { datatype: ['boolean'] }, (_, __, ___, datatype) => datatype === 'boolean'],
    ['settable', { settable: true }, (_, __, settable) => settable],
    ['unit', { unit: ['°C', 'L'] }, (unit) => unit === '°C' || unit === 'L'],
    ['kind', { kind: ['vessel'] }, (_, kind) => kind === 'vessel'],
    ['two at once', { kind: ['vessel'], unit: ['L'] }, (unit, kind) => kind === 'vessel' && unit === 'L'],
  ])('%s chooses exactly what fits', (_, where, fits) => {
    const topics = announced({ each: 'property', where, topic: 'x/$identifier', payload: {} }).map(
      ({ topic }) => topic,
    );
    const expected = marram.properties
      .filter(({ unit, kind, settable, datatype }) => fits(unit, kind, settable, datatype))
      .map(({ node, id }) => `x/marram-point-${node}-${id}`);
    expect(expected.length).toBeGreaterThan(0);
    expect(topics).toEqual(expected);
  });

  it('every property is announced once and under a topic of its own', () => {
    const topics = announced({ each: 'property', topic: 'x/$identifier', payload: {} }).map(
      ({ topic }) => topic,
    );
    expect(new Set(topics).size).toBe(marram.properties.length);
    const parts = announced({ each: 'property', topic: 'x/$node/$property', payload: {} }).map(
      ({ topic }) => topic,
    );
    expect(new Set(parts).size).toBe(marram.properties.length);
  });

  it('two templates that meet at one topic are refused, with the place and the mend', () => {
    const same: Template = { each: 'property', topic: 'x/$identifier', payload: {} };
    expect(() => announced(same, { ...same, where: { settable: true } })).toThrow(
      "/announce/templates/1/topic: 'x/marram-point-alarms-acknowledge' is announced twice",
    );
  });

  it("a topic that turns out to be a device's own is refused: a stored message there would be a stored command", () => {
    const odd: AnnounceFile = {
      templates: [{ each: 'property', topic: '$node/$property/set', payload: {} }],
    };
    const station = structuredClone(stationFile('marram-point'));
    const pump = station.actuators['transfer-pump'];
    if (pump?.command === undefined) throw new Error('no such pump');
    pump.command.topic = 'station/link/set';
    const { plant: here } = loaded(station);
    expect(() => announcementsOf(here, odd, deviceOf(here))).toThrow('in use by the station itself');
  });

  it('no announcement is ever on a topic of the service, of a device or of the Homie tree', () => {
    const word = fc.constantFrom(
      '$identifier',
      '$node',
      '$property',
      '$station',
      'vatwarden',
      'homie',
      '5',
      'marram',
      'x',
    );
    const taken = new Set(Object.values(plant.actuators).map(({ command }) => command.topic));
    fc.assert(
      fc.property(fc.array(word, { minLength: 1, maxLength: 5 }), (levels) => {
        try {
          for (const { topic } of announced({
            each: 'property',
            topic: `${levels.join('/')}/$identifier`,
            payload: {},
          })) {
            expect(topic.startsWith('vatwarden/') || topic.startsWith('homie/5/') || taken.has(topic)).toBe(
              false,
            );
          }
        } catch (error) {
          expect((error as Error).name).toBe('AnnouncementError');
        }
      }),
    );
  });
});
