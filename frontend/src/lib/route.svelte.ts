// Where the person is: the part of the address after '#/'.

class Route {
  path = $state<string[]>([]);

  constructor() {
    this.#read();
    addEventListener('hashchange', () => {
      this.#read();
      scrollTo(0, 0);
    });
  }

  #read(): void {
    this.path = location.hash.replace(/^#\/?/, '').split('/').filter(Boolean).map(decodeURIComponent);
  }

  get name(): string {
    return this.path[0] ?? '';
  }
}

export const route = new Route();
