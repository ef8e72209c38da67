// The completion of a shell, tried in that shell: the script is printed by the built command, read by the shell, and asked.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { wholeProgram } from '../../src/cli/program.ts';

const MAIN = fileURLToPath(new URL('../../dist/cli/main.js', import.meta.url));
const scriptFor = (shell: string): string =>
  spawnSync(process.execPath, [MAIN, 'completion', shell], { encoding: 'utf8' }).stdout;
const has = (shell: string): boolean => spawnSync(shell, ['--version']).status === 0;

const program = await wholeProgram();
const optionsOf = (name: string): readonly string[] =>
  program.commands.find((command) => command.name() === name)?.options.map(({ long }) => long ?? '') ?? [];

describe.runIf(has('bash'))('bash', () => {
  let folder = '';
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'vatwarden-completion-'));
    writeFileSync(join(folder, 'vatwarden.bash'), scriptFor('bash'));
    writeFileSync(join(folder, 'station.json'), '{}');
  });
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  /** What bash offers for the last of these words. */
  const offered = (...words: readonly string[]): readonly string[] => {
    const line = ['vatwarden', ...words].map((word) => `'${word}'`).join(' ');
    const script = `. ./vatwarden.bash; COMP_WORDS=(${line}); COMP_CWORD=${words.length}; _vatwarden; printf '%s\\n' "\${COMPREPLY[@]}"`;
    const { stdout, stderr } = spawnSync('bash', ['--norc', '-c', script], { cwd: folder, encoding: 'utf8' });
    expect(stderr).toBe('');
    return stdout.split('\n').filter((word) => word !== '');
  };

  it('is registered for the command', () => {
    const { stdout } = spawnSync('bash', ['--norc', '-c', '. ./vatwarden.bash; complete -p vatwarden'], {
      cwd: folder,
      encoding: 'utf8',
    });
    expect(stdout).toContain('-F _vatwarden vatwarden');
  });

  it('offers every command, and those that begin as typed', () => {
    expect(offered('')).toEqual(expect.arrayContaining(program.commands.map((command) => command.name())));
    expect(offered('pl')).toEqual(['plan']);
  });

  it.each(program.commands.map((command) => command.name()))('offers every option of %s', (name) => {
    expect(offered(name, '--').toSorted()).toEqual([...optionsOf(name), '--help'].toSorted());
  });

  it('offers what an option or argument takes, and files where it takes files', () => {
    expect(offered('run', '--mqtt', '')).toEqual(['5', '3.1.1']);
    expect(offered('completion', '')).toEqual(['bash', 'zsh', 'fish']);
    expect(offered('example', 'one')).toEqual(['one-vat']);
    expect(offered('check', 'sta')).toEqual(['station.json']);
    expect(offered('run', '--panel', '')).toEqual([]);
  });
});

describe.each(['zsh', 'fish'])('%s', (shell) => {
  const script = scriptFor(shell);

  it('names every command and option', () => {
    for (const command of program.commands) {
      expect(script).toContain(command.name());
      for (const option of optionsOf(command.name()))
        expect(script).toContain(shell === 'fish' ? `-l ${option.slice(2)} ` : option);
    }
  });

  it.runIf(has(shell))('is read by the shell, which then offers what may follow', () => {
    const folder = mkdtempSync(join(tmpdir(), 'vatwarden-completion-'));
    try {
      const file = join(folder, '_vatwarden');
      writeFileSync(file, script);
      // zsh completes only at a terminal: there it must take the script and know whom it is for.
      const asked =
        shell === 'fish'
          ? [
              '--no-config',
              '-c',
              `source ${file}; complete -C 'vatwarden pl'; complete -C 'vatwarden run --mq'`,
            ]
          : ['-f', '-c', `autoload -U compinit; compinit -u -D; source ${file}; echo $_comps[vatwarden]`];
      const { status, stdout, stderr } = spawnSync(shell, asked, {
        encoding: 'utf8',
        env: { ...process.env, HOME: folder },
      });
      expect([status, stderr]).toEqual([0, '']);
      if (shell === 'fish') expect(stdout).toMatch(/^plan\t.*\n--mqtt\t/u);
      else expect(stdout).toBe('_vatwarden\n');
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
  });
});
