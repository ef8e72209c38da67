#!/usr/bin/env node
// Where the program begins: on a Node that is too old it says so before anything is loaded that such a Node can't read.
const [major = 0, minor = 0] = process.versions.node.split('.').map(Number);
if (major < 20 || (major === 20 && minor < 19)) {
  process.stderr.write(
    `vatwarden: this is Node ${process.versions.node}, and it needs 20.19 or newer: install one from nodejs.org, or name it in front of the command [E-903]\n`,
  );
  process.exit(70);
}
const { begin } = await import('./begin.ts');
await begin(process.argv);
