// Writes models/teapot.obj: the open teapot geometry that npm three 0.187.0 (MIT, models/teapot.LICENSE) carries in
// examples/jsm/geometries/TeapotGeometry.js: patches that only touch, spout and handle open at their ends inside
// the bowl, y up. In an empty folder: npm install three@0.187.0 && node .../tests/reference/teapot.mjs
import { writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { pathToFileURL } from 'node:url';

const from = createRequire(process.cwd() + '/');
const load = (name) => import(pathToFileURL(from.resolve(name)));
const { TeapotGeometry } = await load('three/examples/jsm/geometries/TeapotGeometry.js');

const { position } = new TeapotGeometry(50, 6).attributes;
const index = new TeapotGeometry(50, 6).index.array;
const lines = ['# npm three 0.187.0, TeapotGeometry(50, 6); MIT, Copyright 2010-2026 three.js authors'];
for (let i = 0; i < position.count; i++) {
  lines.push(['v', ...[position.getX(i), position.getY(i), position.getZ(i)].map((x) => x.toFixed(6))].join(' '));
}
for (let i = 0; i < index.length; i += 3) {
  lines.push(`f ${index[i] + 1} ${index[i + 1] + 1} ${index[i + 2] + 1}`);
}
writeFileSync(new URL('models/teapot.obj', import.meta.url), lines.join('\n') + '\n');
