// The rooms behind the first screen: one file of script, fetched and read once the round is drawn.
export { default as Evening } from './Evening.svelte';
export { default as Happened } from './Happened.svelte';
export { default as Paper } from './Paper.svelte';
export { default as Phone } from './Phone.svelte';
export { default as Records } from './Records.svelte';
