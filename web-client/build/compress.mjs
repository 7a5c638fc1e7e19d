// Writes a .gz and a .br beside every built file worth compressing, so that the server only has
// to pick one, and says what the first page weighs.
import { readdir, readFile, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { brotliCompressSync, constants, gzipSync } from "node:zlib";

const dist = new URL("../dist/", import.meta.url).pathname;
const worth = /\.(js|css|html|svg|json|webmanifest)$/;
let script = 0;
const first = await readFile(join(dist, "index.html"), "utf8");

for (const entry of await readdir(dist, { recursive: true, withFileTypes: true })) {
  if (!entry.isFile() || !worth.test(entry.name)) continue;
  const path = join(entry.parentPath ?? entry.path, entry.name);
  const bytes = await readFile(path);
  const br = brotliCompressSync(bytes, {
    params: {
      [constants.BROTLI_PARAM_QUALITY]: constants.BROTLI_MAX_QUALITY,
      [constants.BROTLI_PARAM_SIZE_HINT]: bytes.length,
    },
  });
  await writeFile(`${path}.br`, br);
  await writeFile(`${path}.gz`, gzipSync(bytes, { level: 9 }));
  if (entry.name.endsWith(".js") && first.includes(entry.name)) script += br.length;
  console.log(`${entry.name.padEnd(36)} ${String(bytes.length).padStart(8)} B  ${String(br.length).padStart(7)} B brotli`);
}
console.log(`script on the first page: ${(script / 1024).toFixed(1)} KiB brotli`);
