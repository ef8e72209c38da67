// The state of a station and of the service as numbers for a collector. Names end in their unit, counters in `_total`.
import { Counter, collectDefaultMetrics, Gauge, type OpenMetricsContentType, Registry } from 'prom-client';
import { type Effect, PRIORITIES } from '../control/guard/types.ts';
import type { ToldStatus as Status } from '../control/process/describe.ts';
import type { Plant } from '../station/plant.ts';
import { isTold, PROCEDURES } from './row.ts';

export interface Metrics {
  readonly effects: (effects: readonly Effect[]) => void;
  readonly step: () => void;
  readonly link: (up: boolean) => void;
  /** @param status what is so now; null before the first step. @param tickAgeMs since the last control tick. */
  readonly text: (status: Status | null, tickAgeMs: number) => Promise<string>;
  readonly contentType: string;
}

const RUNNING = ['no', 'maybe', 'yes'] as const;

export function metricsOf(plant: Plant): Metrics {
  const registry: AnyRegistry = new Registry<OpenMetricsContentType>();
  registry.setContentType(Registry.OPENMETRICS_CONTENT_TYPE);
  registry.setDefaultLabels({ station: plant.id });
  collectDefaultMetrics({ register: registry });
  const show = gauges(registry);
  const count = counters(registry);
  return {
    effects: (effects) => {
      for (const effect of effects) {
        if (effect.do === 'command')
          count.commands.inc({ actuator: effect.actuator, command: effect.on ? 'on' : 'off' });
        if (effect.do === 'answer') count.requests.inc({ accepted: String(effect.accepted) });
        if (effect.do === 'alarm') count.alarms.inc({ state: effect.state });
      }
    },
    step: () => count.steps.inc(),
    link: (up) => count.links.inc({ change: up ? 'up' : 'down' }),
    text: (status, tickAgeMs) => {
      show.tickAge.set(tickAgeMs / 1000);
      if (status !== null) show.all(status);
      return registry.metrics();
    },
    contentType: registry.contentType,
  };
}

type AnyRegistry = Registry<OpenMetricsContentType>;

function counters(registry: AnyRegistry) {
  const counter = <L extends string>(name: string, help: string, ...labelNames: readonly L[]) =>
    new Counter<L>({
      name: `vatwarden_${name}`,
      help,
      labelNames: [...labelNames],
      registers: [registry],
    });
  return {
    steps: counter('steps', 'Steps of the core.'),
    commands: counter('commands', 'Commands to actuators, renewed leases included.', 'actuator', 'command'),
    requests: counter('requests', 'Requests answered.', 'accepted'),
    alarms: counter('alarm_changes', 'Alarms that changed their state.', 'state'),
    links: counter('link_changes', 'How often the link came up and went down.', 'change'),
  };
}

function gauges(registry: AnyRegistry) {
  const gauge = <L extends string>(name: string, help: string, ...labelNames: readonly L[]) =>
    new Gauge<L>({
      name: `vatwarden_${name}`,
      help,
      labelNames: [...labelNames],
      registers: [registry],
    });
  const linkProven = gauge('link_proven', 'Whether the own heartbeat comes back through the broker.');
  const contents = gauge(
    'vessel_contents_litres',
    'What a vessel holds for certain, and what it may hold.',
    'vessel',
    'bound',
  );
  const temperature = gauge(
    'vessel_temperature_celsius',
    'Temperature; absent while nobody knows it.',
    'vessel',
  );
  const salinity = gauge(
    'vessel_practical_salinity',
    'Practical salinity; absent while nobody knows it.',
    'vessel',
  );
  const running = gauge(
    'route_running',
    'Whether water moves by a route: 1 for the state that holds.',
    'route',
    'state',
  );
  const allowed = gauge('route_allowed', 'Whether no interlock forbids a route.', 'route');
  const flow = gauge('route_flow_litres_per_minute', 'What its meter says; absent without one.', 'route');
  const procedure = gauge(
    'unit_procedure',
    'Procedural state of a unit: 1 for the one that holds.',
    'unit',
    'procedure',
  );
  const fresh = gauge('sensor_fresh', 'Whether a reading counts as evidence.', 'sensor');
  const alarms = gauge('alarms', 'Alarms that a person must be told of.', 'priority');
  const trips = gauge('trips', 'Latched trips.');
  const reserve = gauge('reserve_ratio', "Water on hand as a share of the systems' volume.");
  const delivered = gauge(
    'exchange_delivered_today_litres',
    'Delivered to a system since midnight.',
    'system',
  );
  const all = (status: Status): void => {
    // What is not known any more must not stand there with its last value.
    for (const one of [temperature, salinity, flow]) one.reset();
    linkProven.set(Number(status.link.proven));
    for (const [vessel, { leastL, mostL, temperatureC, salinity: psu }] of Object.entries(status.vessels)) {
      contents.set({ vessel, bound: 'least' }, leastL);
      contents.set({ vessel, bound: 'most' }, mostL);
      if (temperatureC !== null) temperature.set({ vessel }, temperatureC);
      if (psu !== null) salinity.set({ vessel }, psu);
    }
    for (const [route, at] of Object.entries(status.routes)) {
      for (const state of RUNNING) running.set({ route, state }, Number(at.running === state));
      allowed.set({ route }, Number(at.allowed));
      if (at.flowLpm !== null) flow.set({ route }, at.flowLpm);
    }
    for (const [unit, at] of unitsOf(status)) {
      for (const name of PROCEDURES.split(',')) procedure.set({ unit, procedure: name }, Number(at === name));
    }
    for (const [sensor, at] of Object.entries(status.sensors)) fresh.set({ sensor }, Number(at.fresh));
    for (const priority of PRIORITIES.toReversed()) {
      alarms.set(
        { priority },
        status.alarms.filter((alarm) => isTold(alarm) && alarm.priority === priority).length,
      );
    }
    trips.set(status.trips.length);
    reserve.set(status.forecast.reserveShare);
    for (const [system, { todayL }] of Object.entries(status.units.exchange))
      delivered.set({ system }, todayL);
  };
  return { all, tickAge: gauge('tick_age_seconds', 'Since the last control tick was completed.') };
}

function unitsOf({ units }: Status): readonly (readonly [string, string])[] {
  return [
    ['refill', units.refill.procedure],
    ['batch', units.batch.procedure],
    ...Object.entries(units.exchange).map(([id, { procedure }]) => [`exchange-${id}`, procedure] as const),
  ];
}
