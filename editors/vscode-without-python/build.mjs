// The extension around the page's Python: node build.mjs PAGE, where docs/playground/make has built the page.
import { build } from "esbuild";
import { copyFileSync, cpSync, mkdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { gunzipSync } from "node:zlib";

const page = process.argv[2];
const here = new URL("./", import.meta.url);
rmSync(new URL("dist/", here), { recursive: true, force: true });
mkdirSync(new URL("dist/python/pyodide/", here), { recursive: true });
copyFileSync(new URL("../../LICENSE", here), new URL("LICENSE", here));

cpSync(join(page, "lineshaft.zip"), new URL("dist/python/lineshaft.zip", here));
for (const name of ["pyodide.mjs", "pyodide.asm.mjs", "python_stdlib.zip", "pyodide-lock.json"]) {
  cpSync(join(page, "pyodide", name), new URL(`dist/python/pyodide/${name}`, here));
}
// An extension is packed as a whole: here the largest file stands as it is.
writeFileSync(new URL("dist/python/pyodide/pyodide.asm.wasm", here), gunzipSync(readFileSync(join(page, "pyodide/pyodide.asm.wasm.gz"))));

const common = { bundle: true, minify: true, target: "es2022" };
// The editor in the browser takes an entry that ends in `.js` only: to any other ending it adds that, and finds nothing.
for (const [name, platform, ending] of [["node", "node", "cjs"], ["web", "browser", "js"]]) {
  await build({ ...common, entryPoints: [`src/extension-${name}.ts`], outfile: `dist/extension-${name}.${ending}`, format: "cjs", platform, external: ["vscode"] });
  await build({ ...common, entryPoints: [`src/worker-${name}.ts`], outfile: `dist/worker-${name}.mjs`, format: "esm", platform });
}
