// Gathers the page in a folder: node build.mjs OUT ARCHIVES, which archives.py has written
import { createHash } from "node:crypto";
import { cpSync, mkdirSync, readFileSync, readdirSync, statSync, writeFileSync } from "node:fs";
import { dirname, join, relative } from "node:path";
import { fileURLToPath } from "node:url";
import { gzipSync } from "node:zlib";
import { build } from "esbuild";

const here = dirname(fileURLToPath(import.meta.url));
const [out, archives] = process.argv.slice(2);
mkdirSync(join(out, "pyodide"), { recursive: true });

await build({
  entryPoints: [join(here, "src/page.js")], outfile: join(out, "page.js"), bundle: true, minify: true, format: "esm",
  target: "es2022", legalComments: "linked",
});
for (const name of ["index.html", "style.css", "icon.svg", "worker.js"]) cpSync(join(here, "src", name), join(out, name));
for (const name of ["lineshaft.zip", "samples.json"]) cpSync(join(archives, name), join(out, name));
cpSync(join(archives, "python_stdlib.zip"), join(out, "pyodide/python_stdlib.zip"));
const python = join(here, "node_modules/pyodide");
for (const name of ["pyodide.mjs", "pyodide.asm.mjs", "pyodide-lock.json"]) {
  cpSync(join(python, name), join(out, "pyodide", name));
}
writeFileSync(join(out, "pyodide/pyodide.asm.wasm.gz"), gzipSync(readFileSync(join(python, "pyodide.asm.wasm")), { level: 9 }));

const files = readdirSync(out, { recursive: true })
  .map((name) => join(out, name)).filter((path) => statSync(path).isFile() && !path.endsWith("service-worker.js")).sort();
const hash = createHash("sha256");
for (const path of files) hash.update(relative(out, path)).update(readFileSync(path));
const names = files.map((path) => relative(out, path).replaceAll("\\", "/"));
const worker = readFileSync(join(here, "src/service-worker.js"), "utf8")
  .replace("__VERSION__", hash.digest("hex").slice(0, 16)).replace("__FILES__", JSON.stringify(["./", ...names]));
writeFileSync(join(out, "service-worker.js"), worker);

let bytes = 0;
for (const path of files) {
  const raw = readFileSync(path);
  bytes += /\.(zip|gz)$/.test(path) ? raw.length : gzipSync(raw).length;
}
console.log(`the page: ${files.length} files, ${(bytes / 1e6).toFixed(2)} MB to download`);
