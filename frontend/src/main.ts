import { mount } from 'svelte';
import './app.css';
import App from './App.svelte';
import { hub } from './lib/hub.svelte';
import { light } from './lib/light.svelte';
import { update } from './lib/update.svelte';

const target = document.getElementById('app');
if (!target) throw new Error('index.html has no #app');
light.wear();
void hub.open();
target.replaceChildren();
mount(App, { target });
void update.watch();
