// The stations whose pages are kept as pictures, each as it is then.
import { provenBefore } from '../../src/control/guard/proof-tests.ts';
import type { PanelStation } from './panel-station.ts';

const MINUTE_MS = 60_000;
const HOUR_MS = 60 * MINUTE_MS;
const DAY_MS = 24 * HOUR_MS;
const OVERFLOW = encodeURIComponent('I-02/fresh');

export interface Scene {
  readonly name: string;
  readonly file?: string;
  readonly faults?: readonly string[];
  readonly until: (station: PanelStation) => unknown;
  /** By the picture's name: which place of the page. */
  readonly places: Readonly<Record<string, string>>;
  /** Which of them are kept in German as well, on the phone, where words are longest and room is least. */
  readonly german?: readonly string[];
}

/** Tries the overflow float of the fresh vat, which nobody moves. */
function tried(station: PanelStation, isThere: () => boolean): void {
  station.run(10 * MINUTE_MS);
  void station.source.request({ ask: 'proof-test', row: 'I-02/fresh', who: 'Ada' });
  station.run(HOUR_MS, isThere);
}

export const SCENES: readonly Scene[] = [
  {
    name: 'salt is asked for',
    until: (station) => station.run(3 * HOUR_MS, () => station.coupled.state().tasks.mixing !== null),
    places: { task: 'now' },
    german: ['task'],
  },
  {
    name: 'a leak',
    faults: ['nobody-there:all@0', 'says:tray-leak=wet@1h'],
    until: (station) => station.run(HOUR_MS + 60_000),
    places: { leak: 'alarms' },
    german: ['leak'],
  },
  {
    name: 'a pump that does not stop: one incident of several alarms',
    faults: ['nobody-there:all@0', 'stuck-on:transfer-pump@5min'],
    until: (station) => station.run(40 * MINUTE_MS),
    places: { incident: 'alarms', 'incident-now': 'now' },
    german: ['incident', 'incident-now'],
  },
  {
    name: 'a day that went well',
    faults: [],
    until: (station) => {
      void station.source.countSalt?.(40);
      station.run(8 * HOUR_MS);
    },
    places: { history: 'history', books: 'books', 'what-if': 'what-if', prefer: 'prefer', calm: 'alarms' },
    german: ['books', 'what-if'],
  },
  {
    name: 'proof tests are overdue, and a check is bypassed',
    faults: ['nobody-there:all@0', 'silent:tray-leak@5min'],
    until: (station) => {
      station.run(20 * MINUTE_MS);
      const { coupled, source } = station;
      coupled.adopt((state) => provenBefore(coupled.plant, state, 92 * DAY_MS, { 'I-11/tray-leak': DAY_MS }));
      const asked = { row: 'I-13/tray-leak', minutes: 60, reason: 'flat battery', who: 'Ada' };
      void source.request({ ask: 'bypass', ...asked });
      station.run(2 * MINUTE_MS);
    },
    places: { bypass: 'now', proofs: 'proofs', proof: `proofs/${OVERFLOW}` },
    german: ['proofs', 'proof'],
  },
  {
    name: 'a proof test waits for the float',
    until: (station) => tried(station, () => station.coupled.state().proofs.test?.phase === 'waiting'),
    places: { 'proof-waits': `proofs/${OVERFLOW}` },
    german: ['proof-waits'],
  },
  {
    name: 'a proof test failed',
    until: (station) => tried(station, () => 'I-02/fresh' in station.source.proofs()),
    places: { 'proof-failed': `proofs/${OVERFLOW}` },
  },
  {
    name: 'one pump for two ways',
    file: 'schemas/examples/unequal-vats.json',
    until: (station) => station.run(HOUR_MS),
    places: { 'one-pump': 'now' },
  },
];
