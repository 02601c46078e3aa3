// The service worker, and word of a new version. The new one takes over only when the person says so; forms
// are kept in IndexedDB all the while, so that nothing is lost either way.

class Update {
  waiting = $state.raw<ServiceWorker | undefined>();
  #asked = false;

  async watch(): Promise<void> {
    if (!('serviceWorker' in navigator) || !isSecureContext) return;
    let registration: ServiceWorkerRegistration;
    try {
      registration = await navigator.serviceWorker.register('sw.js');
    } catch {
      return;
    }
    const look = () => {
      if (registration.waiting && navigator.serviceWorker.controller) this.waiting = registration.waiting;
    };
    look();
    registration.addEventListener('updatefound', () =>
      registration.installing?.addEventListener('statechange', look),
    );
    navigator.serviceWorker.addEventListener('controllerchange', () => {
      if (this.#asked) location.reload();
    });
    document.addEventListener('visibilitychange', () => {
      if (document.visibilityState === 'visible') registration.update().catch(() => undefined);
    });
  }

  take(): void {
    this.#asked = true;
    this.waiting?.postMessage('take over');
  }
}

export const update = new Update();
