/* What is held against the scripts: of the page (src/book/page, joined as in the page itself)
 * and of these tests. */
import js from '@eslint/js';

const readonly = (...names) => Object.fromEntries(names.map((name) => [name, 'readonly']));

const rules = {
  ...js.configs.recommended.rules,
  'eqeqeq': 'error',
  'max-len': ['error', { code: 120, ignoreUrls: true }],
  'max-lines-per-function': ['error', { max: 45, skipComments: true, skipBlankLines: true }],
  'max-params': ['error', 8],
  'no-else-return': 'error',
  'no-shadow': 'error',
  'no-unneeded-ternary': 'error',
  'no-unused-vars': ['error', { args: 'all', caughtErrors: 'all' }],
  'no-useless-concat': 'error',
  'no-var': 'error',
  'object-shorthand': 'error',
  'prefer-const': 'error',
  'strict': ['error', 'never'],
};

const browser = readonly('atob', 'Blob', 'clearTimeout', 'document', 'getComputedStyle', 'navigator', 'Path2D',
  'requestAnimationFrame', 'ResizeObserver', 'setTimeout', 'URL', 'window');
const node = readonly('Buffer', 'console', 'fetch', 'DOMException', 'Event', 'HTMLCanvasElement', 'performance',
  'process');

export const page = [{ rules, languageOptions: { ecmaVersion: 2022, sourceType: 'module', globals: browser } }];

/* The desk's (src/desk/page) with what they share of the book's; not all of that is used there. */
export const desk = [{
  rules: { ...rules, 'no-unused-vars': 'off' },
  languageOptions: { ecmaVersion: 2022, sourceType: 'module', globals: { ...browser,
    ...readonly('AbortController', 'CSS', 'CSSStyleSheet', 'CompressionStream', 'DecompressionStream',
      'Path2D', 'Response', 'URLSearchParams', 'createImageBitmap', 'fetch', 'performance') } },
}];

/* The bench's (src/bench/page) with what they share of both. */
export const bench = [{
  rules: { ...rules, 'no-unused-vars': 'off' },
  languageOptions: { ecmaVersion: 2022, sourceType: 'module', globals: { ...browser,
    ...readonly('AbortController', 'CSSStyleSheet', 'Path2D', 'URLSearchParams', 'crypto', 'fetch') } },
}];

/* A test's function may be long: it tells one story. Parts of it run in the browser. */
export const tests = [{
  rules: { ...rules, 'max-lines-per-function': 'off' },
  languageOptions: { ecmaVersion: 2022, sourceType: 'module', globals: { ...browser, ...node } },
}];

export default tests;
