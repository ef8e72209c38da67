// The command `password`: makes the line that lets a person sign in to the panel. The password itself is kept nowhere.
import { stdin, stdout } from 'node:process';
import type { Command } from 'commander';
import { Coded } from '../errors/coded.ts';
import { hashPassword } from '../panel/people.ts';

export function addPassword(program: Command): void {
  program
    .command('password')
    .description("Prints the line for a person in the panel's file; reads the password from standard input")
    .addHelpText(
      'after',
      `
Examples:
  $ echo 'a sentence is easy to keep' | vatwarden password
At a terminal it asks, and shows nothing of what is typed.
Exit code 0: printed; 2: nothing was typed, or too little.`,
    )
    .action(async () => {
      stdout.write(`${await hashPassword(await typed())}\n`);
    });
}

/** The first line; what is typed at a terminal is not shown. */
async function typed(): Promise<string> {
  if (stdin.isTTY) {
    process.stderr.write('Type the password, then Enter (it is not shown): ');
    stdin.setRawMode(true);
  }
  let text = '';
  try {
    for await (const chunk of stdin.setEncoding('utf8')) {
      for (const letter of String(chunk)) {
        if (letter === '\n' || letter === '\r') return text;
        if (letter === '\u0003') throw new Coded('E-123', 'nothing was typed');
        text = letter === '\u007f' ? text.slice(0, -1) : text + letter;
      }
    }
    return text;
  } finally {
    if (stdin.isTTY) {
      stdin.setRawMode(false);
      process.stderr.write('\n');
    }
    stdin.pause();
  }
}
