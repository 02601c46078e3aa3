// From what was answered on a card to the records it becomes.

import type { Card } from './round';
import type { Written } from './tasks';

export type Answers = Record<string, string | number | boolean | undefined>;

/** A record is made unless its `only_if` was answered no or nought; a fact's answer goes into every field it
 * names. Held to the server's reading by tests/vectors/cards.json. */
export function happenedRecords(card: Card, answers: Answers): Written[] {
  return card.records
    .filter(({ only_if }) => only_if === null || answers[only_if])
    .map(({ kind, data }): Written => {
      const filled: Record<string, unknown> = { ...data };
      for (const fact of card.facts) {
        const answer = answers[fact.id];
        if (answer === undefined) continue;
        for (const target of fact.into) {
          const dot = target.indexOf('.');
          if (target.slice(0, dot) === kind) filled[target.slice(dot + 1)] = answer;
        }
      }
      return [kind, filled];
    });
}
