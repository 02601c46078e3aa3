/** Once what is to be seen has been drawn: what nobody waits for. */
export function later(run: () => void): void {
  const { scheduler } = globalThis as {
    scheduler?: { postTask?(run: () => void, how: { priority: 'background' }): Promise<void> };
  };
  if (scheduler?.postTask) void scheduler.postTask(run, { priority: 'background' });
  else setTimeout(run, 100);
}
