import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { svelte } from '@sveltejs/vite-plugin-svelte';
import { defineConfig, type Plugin } from 'vite';

const SHELL = ['manifest.webmanifest', 'icon.svg'];

/** Tells the service worker which files make up this version, and names the version after them. */
function precache(): Plugin {
  return {
    name: 'precache',
    apply: 'build',
    generateBundle: {
      order: 'post',
      handler(_options, bundle) {
        const worker = bundle['sw.js'];
        if (worker?.type !== 'chunk') throw new Error('no service worker was built');
        const files = Object.keys(bundle).filter((name) => name !== 'sw.js');
        const hash = createHash('sha256');
        for (const name of [...files].sort()) {
          const one = bundle[name];
          hash.update(name).update(one?.type === 'chunk' ? one.code : (one?.source ?? ''));
        }
        for (const name of SHELL) hash.update(readFileSync(`public/${name}`));
        const listed = JSON.stringify(['./', ...SHELL, ...files.filter((name) => name !== 'index.html')]);
        worker.code = worker.code
          .replace('__VERSION__', hash.digest('hex').slice(0, 16))
          .replace(/(["'`])__FILES__\1/, () => listed);
      },
    },
  };
}

export default defineConfig({
  base: './',
  plugins: [svelte(), precache()],
  build: {
    outDir: '../src/leyfold/web/static',
    emptyOutDir: true,
    target: 'es2022',
    assetsInlineLimit: 0,
    rolldownOptions: {
      input: { index: 'index.html', sw: 'src/sw.ts' },
      output: { entryFileNames: (chunk) => (chunk.name === 'sw' ? 'sw.js' : 'assets/[name]-[hash].js') },
    },
  },
  server: { proxy: { '/api': process.env.LEYFOLD ?? 'http://127.0.0.1:8765' } },
});
