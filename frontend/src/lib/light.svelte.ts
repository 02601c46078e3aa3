// Day, dark or full sun. Kept in localStorage, since it is wanted before the first paint.

export const LIGHTS = ['auto', 'day', 'dark', 'sun'] as const;
export type LightName = (typeof LIGHTS)[number];

class Light {
  chosen = $state<LightName>('auto');
  #dark = matchMedia('(prefers-color-scheme: dark)');

  constructor() {
    try {
      const kept = localStorage.getItem('leyfold light') as LightName | null;
      if (kept && LIGHTS.includes(kept)) this.chosen = kept;
    } catch {
      // A browser that keeps nothing still shows something.
    }
    this.#dark.addEventListener('change', () => this.wear());
  }

  choose(name: LightName): void {
    this.chosen = name;
    try {
      localStorage.setItem('leyfold light', name);
    } catch {
      // as above
    }
    this.wear();
  }

  wear(): void {
    const auto = this.#dark.matches ? 'dark' : 'day';
    document.documentElement.dataset.light = this.chosen === 'auto' ? auto : this.chosen;
    const paper = getComputedStyle(document.documentElement).getPropertyValue('--paper').trim();
    document.querySelector('meta[name=theme-color]')?.setAttribute('content', paper);
  }
}

export const light = new Light();
