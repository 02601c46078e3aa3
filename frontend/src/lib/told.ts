// One record as a short sentence, for lists and the undo line.

import { amount, number, say } from '../words';
import type { Wire } from './types';

const COUNTED: Record<string, 'told_dead' | 'told_missing' | 'told_culled' | 'told_glance' | 'told_counted'> =
  {
    'found dead': 'told_dead',
    missing: 'told_missing',
    culled: 'told_culled',
    glance: 'told_glance',
    counted: 'told_counted',
  };

export function told(record: Wire, nameOf: (id: string) => string): string {
  const { kind, data } = record;
  const place = data.place ?? data.net ?? data.cattle ?? data.incubator ?? data.bin ?? data.tank ?? data.from;
  const where = typeof place === 'string' ? `${nameOf(place)}: ` : '';
  return where + what(kind, data, nameOf);
}

function what(kind: string, data: Record<string, unknown>, nameOf: (id: string) => string): string {
  const n = (key: string) => Number(data[key] ?? 0);
  const counted = COUNTED[kind];
  if (counted) {
    const heads = Number(data.heads ?? 1);
    const reason = typeof data.reason === 'string' ? ` (${data.reason})` : '';
    return say(counted, { n: heads }) + reason;
  }
  switch (kind) {
    case 'shelter moved':
      return say('moved');
    case 'fence shifted':
      return say('net_shifted');
    case 'break opened':
      return say('break_open');
    case 'fed': {
      const measure = data.measure;
      const given =
        typeof measure === 'string' ? `${amount(n('measures'))} × ${measure}` : `${number(n('kg'))} kg`;
      return `${say('fed')}, ${given}`;
    }
    case 'watered':
      return say('watered');
    case 'eggs':
      return say('eggs_kept', { n: n('eggs') });
    case 'fence voltage':
      return say('fence_kept', { kV: n('kV') });
    case 'tended':
      return say(data.what === 'turned' ? 'turned' : 'damp');
    case 'shut in':
      return say('shut');
    case 'moved':
      return say('told_moved', { to: nameOf(String(data.to)) });
    case 'answer':
      return say('answered');
    default: {
      const more = data.what ?? data.why;
      return typeof more === 'string' ? `${kind}: ${more}` : kind;
    }
  }
}
