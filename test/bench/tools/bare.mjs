// The floor for memory and start: node with the libraries of the service loaded, and nothing to do.
import 'ajv/dist/2020.js';
import '@photostructure/sqlite';
import 'commander';
import 'mqtt';
import 'pino';
import 'rxjs';

process.stdout.write('loaded\n');
setInterval(() => {}, 1_000);
