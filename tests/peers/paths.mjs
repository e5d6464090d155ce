// Lays the wires of sheets with a general router of connectors (libavoid-js, LGPL-2.1, used by tests
// only), and prints the corners of each and how long it took.
//
// usage: node paths.mjs FOLDER_OF_LIBAVOID SHEETS.json RESULT.json

import { readFileSync, writeFileSync } from "node:fs";
import { pathToFileURL } from "node:url";
import { join } from "node:path";

const [folder, sheetsFile, resultFile] = process.argv.slice(2);
const { AvoidLib } = await import(pathToFileURL(join(folder, "dist/index-node.mjs")));
await AvoidLib.load(join(folder, "dist/libavoid.wasm"));
const Avoid = AvoidLib.getInstance();

const ways = {
  up: Avoid.ConnDirUp,
  down: Avoid.ConnDirDown,
  left: Avoid.ConnDirLeft,
  right: Avoid.ConnDirRight,
};

function lay(sheet) {
  const router = new Avoid.Router(Avoid.OrthogonalRouting);
  // As far from boxes and from each other as our lattice keeps them: 2.5 mm. A bend costs as
  // much as 50 mm. Its penalty for crossings is left at none, as it comes: with it a sheet of 160 wires
  // takes half a minute.
  router.setRoutingParameter(Avoid.shapeBufferDistance, 2.4);
  router.setRoutingParameter(Avoid.idealNudgingDistance, 2.5);
  router.setRoutingParameter(Avoid.segmentPenalty, 50);
  // On sheets of more than 260 wires this step takes it longer than anyone waits.
  if (sheet.set === "quick")
    router.setRoutingOption(Avoid.performUnifyingNudgingPreprocessingStep, false);
  const shapes = sheet.boxes.map(([x, y, w, h]) => {
    const box = new Avoid.Rectangle(new Avoid.Point(x, y), new Avoid.Point(x + w, y + h));
    return new Avoid.ShapeRef(router, box);
  });
  let pins = 0;
  // A pin of its own on the edge of its box, that a wire leaves one way.
  const end = ([x, y, way]) => {
    const on = ([left, top, w, h]) =>
      (x === left || x === left + w) && y > top && y < top + h;
    const at = sheet.boxes.findIndex(on);
    const [left, top] = sheet.boxes[at];
    pins += 1;
    new Avoid.ShapeConnectionPin(shapes[at], pins, x - left, y - top, false, 0, ways[way]);
    return new Avoid.ConnEnd(shapes[at], pins);
  };
  const wires = sheet.wires.map(([a, b]) => {
    const wire = new Avoid.ConnRef(router);
    wire.setSourceEndpoint(end(a));
    wire.setDestEndpoint(end(b));
    return wire;
  });
  const began = performance.now();
  router.processTransaction();
  const took_ms = performance.now() - began;
  const paths = wires.map((wire) => {
    const route = wire.displayRoute();
    const points = [];
    for (let n = 0; n < route.size(); n++) points.push([route.get_ps(n).x, route.get_ps(n).y]);
    return points;
  });
  return { took_ms, paths };
}

const sheets = JSON.parse(readFileSync(sheetsFile, "utf8"));
const results = [];
for (const sheet of sheets) {
  results.push(lay(sheet));
  writeFileSync(resultFile, JSON.stringify(results));
}
