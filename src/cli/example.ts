// The command `example`: stations and sites to begin with, so that nobody stands before an empty file.
import { readdirSync, readFileSync } from 'node:fs';
import { Argument, type Command } from 'commander';

const FOLDER = new URL('../../schemas/examples/', import.meta.url);

/** Adds `example` to the program. */
export function addExample(program: Command): void {
  program
    .command('example')
    .description('Prints a station file or a site file to begin with; without a name, lists them')
    .addArgument(new Argument('[name]', 'as in the list').choices(names()))
    .addHelpText('after', HELP)
    .action((name: string | undefined) => {
      process.stdout.write(name === undefined ? listText() : textOf(name));
    });
}

const HELP = `
Examples:
  $ vatwarden example
  $ vatwarden example one-vat > station.json
  $ vatwarden example marram-point.site > site.json
A station file is what \`check\`, \`run\` and the rest read; a site file is what \`plan\` reads.
Exit code 0: printed; 2: there is no such example.`;

function names(): readonly string[] {
  return readdirSync(FOLDER)
    .filter((file) => file.endsWith('.json'))
    .map((file) => file.replace(/\.json$/u, ''))
    .toSorted();
}

function listText(): string {
  const rows = names().map((name) => {
    const { name: title } = JSON.parse(textOf(name)) as { name: string };
    return `${name.padEnd(30)}  ${name.endsWith('.site') ? 'site file   ' : 'station file'}  ${title}\n`;
  });
  return rows.join('');
}

function textOf(name: string): string {
  const text = readFileSync(new URL(`${name}.json`, FOLDER), 'utf8');
  // Where the file will lie nobody knows, so that an editor finds the schema only by its whole address.
  return text.replace(/("\$schema": )"([^"]*)"/u, (_, key, path) => `${key}"${new URL(path, FOLDER).href}"`);
}
