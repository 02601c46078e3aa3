"""Nouns as they go out."""

from leyfold.nouns.farm import Farm, Person
from leyfold.services.people import people_of
from leyfold.store.records import Refusal
from leyfold.web import shapes

__all__ = ["farm_shown", "person_shown", "refused_shown"]


def person_shown(person: Person) -> shapes.PersonShown:
    """Without the hours they have."""
    return shapes.PersonShown(id=person.id, name=person.name, role=person.role)


def farm_shown(farm: Farm) -> shapes.FarmShown:
    """What a phone needs to know of the farm; not where it lies."""
    holding = farm.holding
    return shapes.FarmShown(
        name=holding.name,
        zone=holding.zone,
        language=holding.language,
        currency=holding.currency,
        lengths=holding.lengths,
        measures=dict(farm.measures),
        people=[person_shown(person) for person in people_of(farm).values()],
    )


def refused_shown(no: Refusal) -> shapes.RefusedRecord:
    """A record not taken, or doubted."""
    return shapes.RefusedRecord(id=no.id, why=no.why, mend=no.mend)
