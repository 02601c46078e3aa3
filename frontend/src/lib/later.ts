// A slow phone does one small thing after the other, and between two of them what was tapped comes first.

interface Scheduling {
  postTask?(run: () => void, how: { priority: 'background' }): Promise<void>;
  yield?(): Promise<void>;
}

const { scheduler } = globalThis as { scheduler?: Scheduling };

/** Once what is to be seen has been drawn: what nobody waits for. */
export function later(run: () => void): void {
  if (scheduler?.postTask) void scheduler.postTask(run, { priority: 'background' });
  else setTimeout(run, 100);
}

/** Lets the browser draw and answer to taps before what comes next. */
export function breath(): Promise<void> {
  return scheduler?.yield?.() ?? new Promise((ready) => setTimeout(ready));
}
