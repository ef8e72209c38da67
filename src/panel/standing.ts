// The station as the page draws it: the plant without its topics, payloads and other wiring.
import { deriveRows, type Row } from '../control/guard/interlocks.ts';
import { BYPASS_MOST_MS, PROOF_WAIT_MS } from '../control/guard/limits.ts';
import { targetsOf } from '../control/process/units.ts';
import type { Actuator, Called, Plant, Sensor } from '../station/plant.ts';
import { channelsOf } from './channels.ts';
import type { ActuatorStanding, RowStanding, SensorStanding, Standing } from './contract.ts';
import type { Source } from './source.ts';

/** @param canWriteFile whether the service knows the text of the station file */
export function standingOf(source: Source, canWriteFile: boolean): Standing {
  const plant = source.plant();
  const { id, vessels, routes, heaters, dosers, exercises, freshId, mixingId, systemIds } = plant;
  const { process, policy, link } = plant;
  return {
    id,
    ...calledOf(plant),
    vessels,
    routes,
    heaters,
    dosers,
    exercises: Object.fromEntries(Object.values(exercises).map((one) => [one.id, calledOf(one)])),
    sensors: Object.fromEntries(Object.values(plant.sensors).map((one) => [one.id, sensorOf(one)])),
    actuators: Object.fromEntries(
      Object.values(plant.actuators).map((one) => [one.id, actuatorOf(plant, one)]),
    ),
    freshId,
    mixingId,
    systemIds,
    process,
    policy,
    link,
    rows: deriveRows(plant).map(rowOf),
    targets: targetsOf(plant),
    channels: channelsOf(plant),
    asks: source.asks,
    limits: { proofWaitMs: PROOF_WAIT_MS, bypassMostMs: BYPASS_MOST_MS },
    change: source.adopt !== null ? 'taken-over' : canWriteFile ? 'file' : 'none',
    saltStock: source.saltStock !== null && source.countSalt !== null,
  };
}

function rowOf(row: Row): RowStanding {
  const { key, id, subject, about, hazard, harms, finding, means, action, forbids } = row;
  const { priority, words, response, proof, proves } = row;
  const { may, because } = row.bypass;
  return {
    key,
    id,
    subject,
    about,
    hazard,
    harms,
    finding,
    means,
    action,
    forbids,
    priority,
    words,
    response,
    proof,
    proves,
    tests: row.tests ?? null,
    bypassIf: may && action !== 'trip' ? because : null,
  };
}

function sensorOf(sensor: Sensor): SensorStanding {
  const { id, tag, measures, maxAgeMs } = sensor;
  return {
    id,
    ...calledOf(sensor),
    tag,
    measures,
    maxAgeMs,
    vessel: 'vessel' in sensor ? sensor.vessel : null,
    route: 'route' in sensor ? sensor.route : null,
    tray: 'tray' in sensor ? sensor.tray : null,
    position: sensor.measures === 'float' ? sensor.position : null,
    markL: sensor.measures === 'float' ? sensor.markL : null,
  };
}

function actuatorOf(plant: Plant, actuator: Actuator): ActuatorStanding {
  const { id, tag, kind, upstream, offProvenBy, feedback } = actuator;
  const watching = deriveRows(plant).filter(({ means, subject }) => means === 'disobeys' && subject === id);
  const watchedBy = watching.map(({ key }) => key);
  return {
    id,
    ...calledOf(actuator),
    tag,
    kind,
    upstream,
    offProvenBy,
    feedback: feedback !== null,
    watchedBy,
  };
}

const calledOf = ({ name, names }: Called): Called => (names === undefined ? { name } : { name, names });
