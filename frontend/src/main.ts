import { mount } from 'svelte';
import './app.css';
import App from './App.svelte';
import { hub } from './lib/hub.svelte';
import { light } from './lib/light.svelte';
import { update } from './lib/update.svelte';
import Broken from './parts/Broken.svelte';

const target = document.getElementById('app');
if (!target) throw new Error('index.html has no #app');

/** What index.html shows stands until there is something to put in its place. */
function show(screen: typeof App | typeof Broken): void {
  target?.replaceChildren();
  if (target) mount(screen, { target });
}

light.wear();
// The service worker fetches all there is: the first round goes before it.
const watch = () => void update.watch();
hub.open(watch).then(
  () => show(App),
  () => {
    show(Broken);
    watch();
  },
);
