import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { svelte } from '@sveltejs/vite-plugin-svelte';
import { defineConfig, type Plugin } from 'vite';

const SHELL = ['manifest.webmanifest', 'icon-192.png'];

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

/** Svelte makes an error as it loads, never to be thrown. To say where, the browser would read all of the script
 * a second time. */
function untraced(): Plugin {
  const traced = 'new (class StaleReactionError extends Error {';
  return {
    name: 'untraced',
    apply: 'build',
    transform(code, id) {
      if (!id.endsWith('/svelte/src/internal/client/constants.js')) return undefined;
      if (!code.includes(traced)) throw new Error('Svelte makes its error in another way');
      return code.replace(traced, 'new (class StaleReactionError {');
    },
  };
}

/** Puts on the light that was chosen (lib/light.svelte.ts) and runs `script` with the first frame; in a window that
 * nobody sees, and that paints none, at once. */
function begin(script: string): string {
  return (
    `try{const l=localStorage.getItem('leyfold light');` +
    `if(l&&l!=='auto')document.documentElement.dataset.light=l}catch{}` +
    `(document.hidden?setTimeout:requestAnimationFrame)(()=>{` +
    `document.head.append(Object.assign(document.createElement('script'),{src:'${script}'}))})`
  );
}

/** Writes the styles into the page: what is painted first waits for no second file. The script is a plain one: of
 * such, a browser that keeps it for the service worker keeps what it made of it too, and a later start reads none
 * of it again. It is fetched at once and run when the first frame is being painted, not before. The server lets
 * both, the styles and these few words, through by their hash (web/static_files.py). */
function onePage(): Plugin {
  return {
    name: 'one-page',
    apply: 'build',
    generateBundle: {
      order: 'post',
      handler(_options, bundle) {
        const page = bundle['index.html'];
        const [name = '', ...more] = Object.keys(bundle).filter((file) => file.endsWith('.css'));
        const styles = bundle[name];
        if (page?.type !== 'asset' || styles?.type !== 'asset' || more.length > 0) {
          throw new Error('one page and one file of styles were to be built');
        }
        const link = /<link rel="stylesheet"[^>]*>/;
        const module = /<script type="module" crossorigin src="([^"]+)"><\/script>/;
        const source = String(page.source);
        if (!link.test(source)) throw new Error('the page does not name its styles');
        const script = module.exec(source)?.[1];
        if (!script) throw new Error('the page does not name its script');
        page.source = source
          .replace(link, () => `<style>${String(styles.source).trim()}</style>`)
          .replace(module, `<link rel="preload" as="script" href="${script}">`)
          .replace('</body>', () => `<script>${begin(script)}</script></body>`);
        delete bundle[name];
      },
    },
  };
}

export default defineConfig({
  base: './',
  plugins: [untraced(), svelte(), onePage(), precache()],
  build: {
    outDir: '../src/leyfold/web/static',
    emptyOutDir: true,
    target: 'es2022',
    assetsInlineLimit: 0,
    cssCodeSplit: false,
    modulePreload: false,
    rolldownOptions: {
      input: { index: 'index.html', sw: 'src/sw.ts' },
      output: {
        entryFileNames: (chunk) => (chunk.name === 'sw' ? 'sw.js' : 'assets/[name]-[hash].js'),
        // Each stands alone, and what it names is its own.
        banner: '(() => {',
        footer: '})();',
      },
    },
  },
  server: { proxy: { '/api': process.env.LEYFOLD ?? 'http://127.0.0.1:8765' } },
});
