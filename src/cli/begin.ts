// One call of the command line: finds the command, runs it, and says what went wrong in one way for all of them.
import { programFor } from './program.ts';
import { toldOf } from './telling.ts';

export async function begin(argv: readonly string[]): Promise<void> {
  // A reader that has seen enough (`vatwarden calc --list | head`) is no fault.
  process.stdout.on('error', (error: NodeJS.ErrnoException) => {
    if (error.code !== 'EPIPE') throw error;
    process.exit(0);
  });
  const [, , name = ''] = argv;
  const end = (error: unknown): never => {
    const { text, exit } = toldOf(error, { name, isVerbose: argv.includes('--verbose') });
    process.stderr.write(text);
    process.exit(exit);
  };
  process.once('uncaughtException', end);
  try {
    const program = await programFor(argv.slice(2));
    await program.parseAsync([...argv]);
  } catch (error) {
    end(error);
  }
}
