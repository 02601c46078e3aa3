// Unsent records as a file the farmer can carry: the same lines as records.jsonl.

import { wire } from './sync';
import type { Wire } from './types';

export function lines(records: Wire[]): string {
  return records.map((record) => `${JSON.stringify(wire(record))}\n`).join('');
}

/** Hands the file to the phone's share sheet, or else saves it. False when the person thought better of it. */
export async function carry(records: Wire[], name: string): Promise<boolean> {
  const file = new File([lines(records)], name, { type: 'text/plain' });
  if (navigator.canShare?.({ files: [file] }) && matchMedia('(pointer: coarse)').matches) {
    try {
      await navigator.share({ files: [file] });
      return true;
    } catch (error) {
      if ((error as DOMException).name === 'AbortError') return false;
    }
  }
  const link = document.createElement('a');
  link.href = URL.createObjectURL(file);
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
  return true;
}
