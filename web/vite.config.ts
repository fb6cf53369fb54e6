import { readdirSync } from 'node:fs';
import { type Plugin, defineConfig } from 'vite';

const WORKER = 'offline.js';

/** Tells the worker which files the page consists of. */
function listFiles(): Plugin {
  return {
    name: 'list-files',
    enforce: 'post',
    generateBundle(_options, bundle) {
      const worker = bundle[WORKER];
      if (worker?.type !== 'chunk') return;
      const built = Object.keys(bundle).filter((name) => name !== WORKER && !name.endsWith('.html') && !name.endsWith('.map'));
      const files = ['./', ...[...built, ...readdirSync('public')].sort().map((name) => `./${name}`)];
      worker.code = worker.code.replace('__FILES__', JSON.stringify(files));
    },
  };
}

// The page is embedded in the program, so every path is relative and nothing is inlined as a data: address
// that a strict content security policy would refuse.
export default defineConfig({
  base: './',
  oxc: { jsx: { runtime: 'automatic', importSource: 'preact' } },
  plugins: [listFiles()],
  build: {
    target: 'es2022',
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    chunkSizeWarningLimit: 900,
    rolldownOptions: {
      input: { index: 'index.html', offline: 'src/worker/offline.ts' },
      output: { entryFileNames: (chunk) => (chunk.name === 'offline' ? WORKER : 'assets/[name]-[hash].js') },
    },
  },
  server: { host: '127.0.0.1', proxy: { '/api': `http://127.0.0.1:${process.env.ANFRACT_PORT ?? '8737'}` } },
});
