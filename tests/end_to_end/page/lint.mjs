/* Lints the page's scripts and those of the tests, and tells results as the C tests do. The page's
 * scripts are joined first, so that a name of one is known in all and a name that none uses is
 * found; what is found is told of the file that it stands in. Then tries what needs no browser. */
import { readFileSync, readdirSync } from 'node:fs';
import { dirname, join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import { Linter } from 'eslint';
import { bench, desk, page, tests } from './eslint.config.js';
import { packing, placing } from './without_browser.mjs';

const here = relative('', dirname(fileURLToPath(import.meta.url)));
const linter = new Linter({ configType: 'flat' });
const read = (path) => ({ path, text: readFileSync(path, 'utf8') });
const linesOf = (text) => text.split('\n').length - 1;

/* Lints these files as one; a line for each thing found. */
function lint(files, config) {
  const found = linter.verify(files.map(({ text }) => text).join(''), config);
  return found.map(({ line, column, message, ruleId }) => {
    let at = line;
    const file = files.find(({ text }) => at <= linesOf(text) || ((at -= linesOf(text)), false)) || files.at(-1);
    return `${file.path}:${at}:${column}: ${message} (${ruleId || 'syntax'})`;
  });
}

const scriptsIn = (folder) => readdirSync(folder).filter((name) => /\.m?js$/.test(name))
  .map((name) => join(folder, name));
const suites = [
  ['the_scripts_of_the_page_are_clean', () => lint(scriptsIn('src/book/page').map(read), page)],
  ['the_scripts_of_the_desk_are_clean',
    () => lint([read('src/book/page/dom.js'), read('src/serve/page/photo.js'),
      ...scriptsIn('src/desk/page').map(read)], desk)],
  ['the_scripts_of_the_bench_are_clean', () => lint([read('src/book/page/dom.js'), read('src/desk/page/talk.js'),
    read('src/serve/page/photo.js'),
    ...['share', 'crew', 'photograph', 'main'].map((name) => read(`src/bench/page/${name}.js`))], bench)],
  ['what_the_desk_packs_is_unpacked_by_zlib', packing],
  ['rasters_lie_on_the_picture_or_on_its_crop', placing],
  ['the_scripts_of_the_tests_are_clean', () => scriptsIn(here).flatMap((path) => lint([read(path)], tests))],
];
let failed = 0;
for (const [name, run] of suites) {
  const found = await run();
  for (const line of found) console.log(line);
  console.log(`${found.length ? '[  FAILED  ]' : '[       OK ]'} ${name}`);
  failed += found.length ? 1 : 0;
}
if (failed) process.exit(1);
console.log(`[  PASSED  ] ${suites.length} test(s).`);
