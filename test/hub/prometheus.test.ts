// The rules for a collector: tried by its own tool where that is installed (`apt-get install prometheus`), and held to the
// names that the service serves.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { metricsOf } from '../../src/hub/metrics.ts';
import { plantOf, shownOf } from './stations.ts';

const RULES = 'docker/prometheus-rules.yml';
const isInstalled = spawnSync('promtool', ['--version']).status === 0;
if (!isInstalled && process.env.CI === undefined)
  console.warn('NOTICE: promtool is not installed; the rules for Prometheus are not tried');

const DASHBOARD = 'docker/dashboard.json';

describe('the rules for Prometheus', () => {
  it.each([RULES, DASHBOARD])('%s asks only for numbers that the service serves', async (file) => {
    const plant = plantOf('marram-point');
    const served = await metricsOf(plant).text(shownOf(plant).status, 0);
    const asked = readFileSync(file, 'utf8').match(/vatwarden_\w+/gu) ?? [];
    expect(asked.length).toBeGreaterThan(5);
    expect([...new Set(asked)].filter((name) => !served.includes(`# TYPE ${name} gauge`))).toEqual([]);
  });

  it.skipIf(!isInstalled && process.env.CI === undefined)(
    'has a dashboard whose questions can be read',
    () => {
      const { panels } = JSON.parse(readFileSync(DASHBOARD, 'utf8')) as {
        panels: readonly { readonly id: number; readonly targets: readonly { readonly expr: string }[] }[];
      };
      const rules = panels.flatMap(({ id, targets }) =>
        targets.map(({ expr }) => ({ record: `panel:${id}`, expr: expr.replaceAll('$station', '.*') })),
      );
      expect(rules.length).toBeGreaterThanOrEqual(10);
      const file = join(mkdtempSync(join(tmpdir(), 'vatwarden-dashboard-')), 'rules.yml');
      writeFileSync(file, JSON.stringify({ groups: [{ name: 'dashboard', rules }] }));
      const { status, stderr } = spawnSync('promtool', ['check', 'rules', '--lint=none', file], {
        encoding: 'utf8',
      });
      expect([status, stderr]).toEqual([0, '']);
    },
  );

  it.skipIf(!isInstalled && process.env.CI === undefined)('hold in the cases of their test', () => {
    const { status, stdout, stderr } = spawnSync(
      'promtool',
      ['test', 'rules', 'test/hub/prometheus.test.yml'],
      {
        encoding: 'utf8',
      },
    );
    expect([status, `${stdout}${stderr}`]).toEqual([0, expect.stringContaining('SUCCESS')]);
  });
});
