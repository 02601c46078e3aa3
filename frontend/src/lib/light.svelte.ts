// Day, dark or full sun. Kept in localStorage, since it is wanted before the first paint.

export const LIGHTS = ['auto', 'day', 'dark', 'sun'] as const;
export type LightName = (typeof LIGHTS)[number];
/** As --paper in app.css, for the browser's own edges. */
const PAPER = { day: '#fbf9f3', dark: '#1c1b18', sun: '#ffffff' } as const;

class Light {
  chosen = $state<LightName>('auto');

  constructor() {
    try {
      const kept = localStorage.getItem('leyfold light') as LightName | null;
      if (kept && LIGHTS.includes(kept)) this.chosen = kept;
    } catch {
      // A browser that keeps nothing still shows something.
    }
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
    const { dataset } = document.documentElement;
    if (this.chosen === 'auto') delete dataset.light;
    else dataset.light = this.chosen;
    for (const meta of document.querySelectorAll<HTMLMetaElement>('meta[name=theme-color]')) {
      const auto = meta.media.includes('dark') ? 'dark' : 'day';
      meta.content = PAPER[this.chosen === 'auto' ? auto : this.chosen];
    }
  }
}

export const light = new Light();
