// Puts the drawing library into dist/ as the one file of it that is used, with its licences: as a dependency it would be 65
// of the 115 MB of an installation.
import { cpSync, mkdirSync } from 'node:fs';

const from = (path) => new URL(`../../node_modules/${path}`, import.meta.url);
const to = (name) => new URL(`../../dist/plan/echarts/${name}`, import.meta.url);

mkdirSync(to(''), { recursive: true });
cpSync(from('echarts/dist/echarts.esm.min.mjs'), to('echarts.mjs'));
cpSync(from('echarts/LICENSE'), to('LICENSE'));
cpSync(from('echarts/NOTICE'), to('NOTICE'));
cpSync(from('zrender/LICENSE'), to('LICENSE.zrender'));
