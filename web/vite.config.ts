import { defineConfig } from 'vite';

// The page is embedded in the program, so every path is relative and nothing is inlined as a data: address
// that a strict content security policy would refuse.
export default defineConfig({
  base: './',
  oxc: { jsx: { runtime: 'automatic', importSource: 'preact' } },
  build: { target: 'es2022', assetsInlineLimit: 0, modulePreload: { polyfill: false }, chunkSizeWarningLimit: 900 },
  server: { host: '127.0.0.1', proxy: { '/api': `http://127.0.0.1:${process.env.ANFRACT_PORT ?? '8737'}` } },
});
