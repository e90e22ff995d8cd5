/* Says of each picture of a folder what the tablet's check says: shots.json names them and their
   light, and beside it lies each as a grey PGM. */

import { readFileSync } from "node:fs";

import { judge, look } from "../../frontend/imaging/shot-check.js";

const folder = process.argv[2];

/** A binary PGM of eight bits without comments, as Pillow writes it. */
function picture(name) {
  const file = readFileSync(`${folder}/${name}.pgm`);
  const [head, width, height] = /^P5\s(\d+)\s(\d+)\s255\s/.exec(file.toString("latin1", 0, 64));
  return [new Uint8Array(file.subarray(head.length)), Number(width), Number(height)];
}

const shots = JSON.parse(readFileSync(`${folder}/shots.json`, "utf8"));
const said = shots.map(([name, light]) => {
  const found = look(...picture(name));
  return { ...judge(found, light), found };
});
console.log(JSON.stringify(said));
