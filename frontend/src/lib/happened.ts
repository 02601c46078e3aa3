// From what was answered on a card to the records it becomes.

import type { Card, Fact } from './round';
import type { Written } from './tasks';

export type Answers = Record<string, string | number | boolean | undefined>;

/** Records of birds that are gone, which say from where. */
const LOSSES = new Set(['found dead', 'missing']);

function asked(card: Card, answers: Answers): Card['records'] {
  return card.records.filter(({ only_if }) => only_if === null || answers[only_if]);
}

/** What has to be said before it can be written down: where birds were lost, once their number is. */
export function unsaid(card: Card, answers: Answers): Fact | undefined {
  const lost = asked(card, answers).filter(({ kind }) => LOSSES.has(kind));
  return card.facts.find(
    ({ id, into }) => answers[id] === undefined && lost.some(({ kind }) => into.includes(`${kind}.place`)),
  );
}

/** A record is made unless its `only_if` was answered no or nought; a fact's answer goes into every field it
 * names. Held to the server's reading by tests/vectors/cards.json. */
export function happenedRecords(card: Card, answers: Answers): Written[] {
  return asked(card, answers).map(({ kind, data }): Written => {
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
