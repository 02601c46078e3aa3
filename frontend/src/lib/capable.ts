// What this browser, at this address, can do. A page by plain http is no secure context: it has no service
// worker, no locks, no lasting storage. It still records.

export interface Capable {
  secure: boolean;
  worker: boolean;
  locks: boolean;
  installed: boolean;
}

export function capable(): Capable {
  return {
    secure: isSecureContext,
    worker: 'serviceWorker' in navigator,
    locks: 'locks' in navigator,
    installed: matchMedia('(display-mode: standalone)').matches,
  };
}

/** Asks the browser to keep what is written here; null where it cannot be asked. */
export async function persist(): Promise<boolean | null> {
  if (!navigator.storage?.persist) return null;
  return (await navigator.storage.persisted()) || navigator.storage.persist();
}
