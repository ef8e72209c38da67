// The sensors of a planned station, on placeholder topics.
import type { SensorFile, StationFile } from '../station/file/station.ts';
import type { Design } from './design.ts';
import type { Marks } from './marks.ts';
import { litres, type Pace, seconds } from './station-parts.ts';
import { systemMarksOf } from './system-marks.ts';

type Sensors = Record<string, SensorFile>;

export function sensorsOf(design: Design, pace: Pace): StationFile['sensors'] {
  const at = (path: string) => `${design.site.id}/${path}`;
  const habits = {
    republishes: seconds(pace.republishesS),
    maxAge: seconds(3 * pace.republishesS),
  };
  const board = (name: 'a' | 'b') => ({
    ...habits,
    believe: { start: '10 s' },
    availability: { topic: at(`inputs-${name}/status`), online: 'online', offline: 'offline' },
    failureDomain: `input-board-${name}`,
  });
  const probe = (path: string) => ({ topic: at(path), ...habits });
  return {
    ...vatSensors('fresh', 'Fresh vat', 1, design.freshMarks, board, probe),
    ...vatSensors('mixing', 'Mixing vat', 2, design.mixingMarks, board, probe),
    ...mixingProbes(probe),
    ...systemSensors(design, board, probe),
    'purified-conductivity': {
      name: 'Purified water, conductivity',
      tag: 'AT-1',
      measures: 'conductivity',
      vessel: 'purifier',
      unit: 'uS/cm',
      compensatedTo: '25 degC',
      range: [0, 2000],
      ...probe('purifier/conductivity'),
    },
    ...meters(probe),
    'vat-tray-leak': {
      name: 'Leak sensor, tray under the vats',
      measures: 'leak',
      tray: 'the tray under both vats',
      wet: 'wet',
      dry: 'dry',
      believe: { start: '10 s' },
      failureDomain: 'input-board-b',
      ...probe('tray/leak'),
    },
    'system-leak': {
      name: 'Leak sensor, floor at the system',
      measures: 'leak',
      tray: 'the floor at the system',
      wet: 'wet',
      dry: 'dry',
      believe: { start: '10 s' },
      failureDomain: 'input-board-b',
      ...probe('system/leak'),
    },
  };
}

type Board = (name: 'a' | 'b') => object;
type Probe = (path: string) => {
  readonly topic: string;
  readonly republishes: string;
  readonly maxAge: string;
};

function vatSensors(
  id: 'fresh' | 'mixing',
  name: string,
  number: number,
  marks: Marks,
  board: Board,
  probe: Probe,
): Sensors {
  const float = (position: 'low' | 'high' | 'overflow', tag: string, markL: number) => ({
    name: `${name}, ${position} float`,
    tag: `${tag}-${number}`,
    measures: 'float' as const,
    vessel: id,
    position,
    mark: litres(markL),
    wet: 'wet',
    dry: 'dry',
    ...probe(`${id}/${position}`),
    // The overflow float on a board of its own, and open when wet: a broken wire then reads wet.
    ...board(position === 'overflow' ? 'b' : 'a'),
    ...(position === 'overflow' ? { normallyClosed: true } : {}),
  });
  return {
    [`${id}-low`]: float('low', 'LSL', marks.lowL),
    [`${id}-high`]: float('high', 'LSH', marks.highL),
    [`${id}-overflow`]: float('overflow', 'LSHH', marks.overflowL),
    [`${id}-level`]: {
      name: `${name}, level`,
      tag: `LT-${number}`,
      measures: 'level',
      vessel: id,
      unit: '%',
      uncertainty: litres(0.01 * marks.capacityL),
      range: [0, 105],
      ...probe(`${id}/level`),
    },
  };
}

function mixingProbes(probe: Probe): Sensors {
  return {
    'mixing-temperature': {
      name: 'Mixing vat, temperature',
      tag: 'TT-2',
      measures: 'temperature',
      vessel: 'mixing',
      unit: 'degC',
      range: [-2, 50],
      sentinels: [85, -127],
      ...probe('mixing/temperature'),
    },
    'mixing-conductivity': {
      name: 'Mixing vat, conductivity',
      tag: 'AT-2',
      measures: 'conductivity',
      vessel: 'mixing',
      unit: 'mS/cm',
      compensatedTo: '25 degC',
      validAfter: { route: 'circulate', runsFor: '60 s' },
      validFor: '12 h',
      range: [0, 90],
      ...probe('mixing/conductivity'),
    },
  };
}

function systemSensors(design: Design, board: Board, probe: Probe): Sensors {
  const marks = systemMarksOf(design.site);
  const float = (position: 'low' | 'high' | 'overflow', tag: string, markL: number) => ({
    name: `${design.site.system.name}, ${position} float`,
    tag: `${tag}-3`,
    measures: 'float' as const,
    vessel: 'system',
    position,
    mark: litres(markL),
    tolerance: litres(marks.toleranceL),
    wet: 'wet',
    dry: 'dry',
    ...probe(`system/${position}`),
    ...board(position === 'overflow' ? 'b' : 'a'),
    ...(position === 'overflow' ? { normallyClosed: true } : {}),
  });
  return {
    'system-low': float('low', 'LSL', marks.lowL),
    'system-high': float('high', 'LSH', marks.highL),
    'system-overflow': float('overflow', 'LSHH', marks.overflowL),
    'system-temperature': {
      name: `${design.site.system.name}, temperature`,
      tag: 'TT-3',
      measures: 'temperature',
      vessel: 'system',
      unit: 'degC',
      range: [-2, 50],
      ...probe('system/temperature'),
    },
    'top-off': {
      name: `${design.site.system.name}, its own top-off`,
      measures: 'top-off',
      vessel: 'system',
      running: 'on',
      resting: 'off',
      believe: { start: '10 s' },
      ...probe('system/top-off'),
    },
  };
}

function meters(probe: Probe): Sensors {
  const meter = (route: string, name: string, number: number) => ({
    [`${route}-meter`]: {
      name,
      tag: `FQ-${number}`,
      measures: 'total' as const,
      route,
      unit: 'mL' as const,
      uncertainty: '3 %',
      lostAtStart: '50 mL',
      ...probe(`${route}/total`),
    },
  });
  return {
    ...meter('refill', 'Inlet meter', 1),
    ...meter('transfer', 'Transfer meter', 2),
    ...meter('supply', 'Supply meter', 3),
    ...meter('drain', 'Drain meter', 4),
  };
}
