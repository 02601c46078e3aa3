// One run at a time, over all tabs where the browser has locks, else within this page. Two pages sending the
// same records do no harm: the server keeps each id once.

let tail: Promise<unknown> = Promise.resolve();

export function alone<T>(name: string, run: () => Promise<T>): Promise<T> {
  if ('locks' in navigator && navigator.locks) return navigator.locks.request(name, run) as Promise<T>;
  const next = tail.then(run, run);
  tail = next.catch(() => undefined);
  return next;
}
