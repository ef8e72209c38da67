// What all of it rests on: what the file states, and what nobody has measured.
import type { Design } from '../design.ts';
import { WEAR_SHARE } from '../lines.ts';
import { type Cell, type Section, section } from '../report.ts';
import { days, degC, litres, lpm, metres, percent } from '../words.ts';

export function basis({ site, circulationLpm, drainLpm }: Design): Section {
  const { system, purifier, inlet, schedule, mixing, room } = site;
  const rows: readonly Cell[][] = [
    ...system.parts.map(({ name, volumeL }): Cell[] => [`System: ${name}`, litres(volumeL)]),
    ['Salinity and temperature of the system', `${system.salinity}, ${degC(system.temperatureC)}`],
    ['What it takes above its normal level', litres(system.spareL)],
    ['Room in the cold season', degC(room.temperatureC)],
    [
      'Purifier',
      `${(purifier.ratedLpm * 1440).toFixed(0)} L/d at 25 degC and ${purifier.ratedKpa.toFixed(0)} kPa`,
    ],
    ['Line pressure', `${inlet.pressureKpa.toFixed(0)} kPa`],
    ['Dissolved salts in the line', `${inlet.dissolvedMgPerL.toFixed(0)} mg/L`],
    ['Recovery', percent(purifier.recovery, 0)],
    [
      'Membrane',
      `loses ${percent(purifier.lossPerYear, 0)} a year, replaced after ${days(purifier.lifeDays)}; K ${purifier.constantK ?? '3020 K to 25 degC, 2640 K above'}`,
    ],
    ['Salt', `${site.salt.name}, yield ${site.salt.yield} kg/kg`],
    ['Dissolving, settling', `${mixing.dissolveMinutes} min, ${mixing.settleMinutes} min`],
    ['Circulation', lpm(circulationLpm) + (mixing.circulationLpm === null ? ' (assumed)' : '')],
    ['Outlet of the supply', `${metres(site.supply.outletM)} above the floor of the vats`],
    ['Drain', lpm(drainLpm) + (site.drain.lpm === null ? ' (assumed)' : '')],
    ['Exchange', `${percent(schedule.share)} every ${days(schedule.intervalDays)}`],
    ['Large change', percent(schedule.largeShare)],
    ['Wear of the pumps', percent(WEAR_SHARE, 0)],
  ];
  return section({
    id: 'basis',
    title: 'What this rests on',
    says: [
      'Everything above follows from the site file and from published formulas. Nothing was measured on the spot but what the file says.',
      'It is a sizing report and no approval of anything: not of the floor, not of the wiring, not of the connection to the drinking water. Local codes and licensed practice come first.',
    ],
    tables: [
      {
        id: 'inputs',
        title: 'From the site file, defaults filled in',
        columns: [{ title: 'What' }, { title: 'value' }],
        rows,
      },
    ],
  });
}
