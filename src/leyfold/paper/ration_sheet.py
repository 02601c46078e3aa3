"""A mix of the farm's own in sentences: what it costs, what makes it dear, what it cannot be."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from leyfold.feed.batch import Batch
from leyfold.feed.least_cost import Clash, Mix
from leyfold.feed.mix import Need
from leyfold.nouns.feed import Ingredient
from leyfold.paper.feed_sheet import amount
from leyfold.words import say
from leyfold.words.forms import number, significant

__all__ = ["batch_said", "clash_said", "mix_said"]

KG_PER_T = 1000
MOST_DEAR = 4


def mix_said(mix: Mix, used: Sequence[Ingredient], currency: str, language: str) -> Iterator[str]:
    """What the needs cost, the dearest first; what would come in if it were cheaper; what is at its limit."""
    for i, dear in enumerate(mix.dear[:MOST_DEAR]):
        nutrient = dear.need.nutrient
        said = {
            "nutrient": say(f"feed.nutrient_{nutrient}"),
            "side": say(f"feed.side_{dear.need.side}"),
            "needs": amount(nutrient, dear.need.value, language),
            "money": number(KG_PER_T * dear.per_hundredth, 2, language),
            "currency": currency,
        }
        yield say("feed.ration_costs" if i else "feed.ration_dear", **said)
    for one in used:
        if one.id in mix.enters_at and one.price_per_kg is not None and mix.enters_at[one.id] > 0:
            price, enters = (
                number(KG_PER_T * x, 0, language) for x in (one.price_per_kg, mix.enters_at[one.id])
            )
            yield say("feed.ration_enters", name=one.id, price=price, enters=enters, currency=currency)
        if one.id in mix.held_back:
            yield say(
                "feed.ration_held",
                name=one.id,
                limit=number(100 * mix.shares[one.id], 1, language),
                money=number(KG_PER_T * mix.held_back[one.id] / 100, 2, language),
                currency=currency,
            )


def batch_said(batch: Batch, currency: str, language: str) -> Iterator[str]:
    """What one batch costs, and what it holds once rounded."""
    kg, price = number(batch.kg, 1, language), number(batch.price, 2, language)
    yield say("feed.ration_batch", kg=kg, price=price, currency=currency)
    if not batch.held_to:
        yield say("feed.ration_no_whole")
    for short in batch.short:
        nutrient = short.need.nutrient
        said = {
            "nutrient": say(f"feed.nutrient_{nutrient}"),
            "holds": amount(nutrient, short.holds, language),
            "needs": amount(nutrient, short.need.value, language),
        }
        yield say("feed.ration_short" if short.need.side == "least" else "feed.ration_over", **said)
    if not batch.short:
        yield say("feed.ration_rounded")
    yield say("feed.ration_check")


def clash_said(clash: Clash, used: Sequence[Ingredient], language: str) -> str:
    """Which needs and limits cannot hold together."""
    parts = [_need(need, language) for need in clash.needs]
    for limit in clash.limits:
        least, most = (significant(100 * x, 3, language) for x in (limit.least, limit.most))
        if limit.least > 0:
            parts.append(say("feed.clash_limit", name=limit.ingredient, least=least, most=most))
        else:
            parts.append(say("feed.clash_limit_most", name=limit.ingredient, most=most))
    return say("feed.clash", names=", ".join(i.id for i in used), set="; ".join(parts))


def _need(need: Need, language: str) -> str:
    return say(
        "feed.clash_need",
        nutrient=say(f"feed.nutrient_{need.nutrient}"),
        side=say(f"feed.side_{need.side}"),
        value=amount(need.nutrient, need.value, language),
    )
