// From what was answered on a card to the records it becomes.

import type { Card, Fact } from './round';
import type { Written } from './tasks';

export type Answers = Record<string, string | number | boolean | undefined>;

/** A fact's field may name its record: "found dead.heads" goes into that kind alone. */
function goesInto(fact: Fact, kind: string): string | undefined {
  const dot = fact.field.indexOf('.');
  if (dot < 0) return fact.field;
  return fact.field.slice(0, dot) === kind ? fact.field.slice(dot + 1) : undefined;
}

/** The records of a card. One that counts birds is left out where none was counted; what was not answered is
 * left out of all. */
export function happenedRecords(card: Card, answers: Answers): Written[] {
  return card.records.flatMap((kind): Written[] => {
    const data: Record<string, unknown> = {};
    for (const fact of card.facts) {
      const field = goesInto(fact, kind);
      const value = answers[fact.field];
      if (field !== undefined && fact.ask !== 'time' && value !== undefined) data[field] = value;
    }
    const counts = card.facts.some((fact) => fact.field === `${kind}.heads`);
    return counts && !data.heads ? [] : [[kind, data]];
  });
}
