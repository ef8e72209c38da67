// A station whose devices are simulated has nothing to commission; a service in real time does not know that. So the test says it,
// as a person would: by a waiver in the record.
import { spawnSync } from 'node:child_process';

/** @param state the directory that `run --state` is given */
export function waived(station: string, state: string): void {
  const why = ['--waive', 'simulated station, commissioned by simulation', '--for', '1 d'];
  const args = ['dist/cli/main.js', 'commission', station, '--state', state, '--who', 'a test', ...why];
  const { status, stderr } = spawnSync(process.execPath, args, { encoding: 'utf8' });
  if (status !== 0) throw new Error(`the waiver was refused: ${stderr}`);
}
