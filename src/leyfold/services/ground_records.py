"""The ground as plain values, for JSON."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from leyfold.services.ground import GroundAnswer

__all__ = ["records"]


def records(answer: GroundAnswer) -> dict[str, Any]:
    """Everything, as plain values with their units in the keys."""
    return {
        "areas": [
            {"shelters": layout.footprint.id.split("+"), **asdict(area)}
            for layout, _ in answer.ground.laid
            for area in layout.areas
        ],
        "days": [
            {
                "shelter": a.shelter,
                "on": a.on.isoformat(),
                "nth": a.nth,
                "stand": a.stand.id if a.stand else None,
                "x_m": round(a.stand.x_m, 3) if a.stand else None,
                "y_m": round(a.stand.y_m, 3) if a.stand else None,
                "leg": a.leg.kind if a.leg else None,
                "distance_m": round(a.leg.distance_m, 2) if a.leg else None,
            }
            for _, ground in answer.ground.laid
            for a in ground.days
        ],
        "ground": [
            {
                "shelters": layout.footprint.id.split("+"),
                "rest_d": ground.rest_days,
                "left_d": ground.left_days,
                "runs_out": ground.runs_out.isoformat() if ground.runs_out else None,
                "shared_strips": list(ground.shared),
            }
            for layout, ground in answer.ground.laid
        ],
        "paddocks": [
            {
                "paddock": p.id,
                "field": p.field,
                "area_m2": round(p.area_m2, 1),
                "round_m": round(p.perimeter_m, 1),
                "shared_m": round(p.shared_m, 1),
            }
            for p in answer.ground.paddocks
        ],
        "hens": [
            {
                "net": hens.net,
                "m2_a_hen_at_once": round(hens.now_m2, 2),
                "m2_a_hen_for_life": round(hens.life_m2, 2),
                "short": hens.short,
                "stays": [
                    {
                        "paddock": s.paddock.id,
                        "first": s.span.first.isoformat(),
                        "until": s.span.until.isoformat(),
                        "house": [
                            {"on": day.isoformat(), "x_m": round(x, 2), "y_m": round(y, 2)}
                            for day, (x, y) in s.house
                        ],
                    }
                    for s in hens.stays
                ],
            }
            for hens in answer.ground.hens
        ],
        "loads": [
            {
                "scope": e.scope,
                "where": e.where,
                "spot": e.spot,
                "first": e.first.isoformat(),
                "until": e.until.isoformat(),
                "area_m2": round(e.area_m2, 2),
                "n_kg_per_ha": round(e.n_kg_per_ha, 3),
                "p_kg_per_ha": round(e.p_kg_per_ha, 3),
                "k_kg_per_ha": round(e.k_kg_per_ha, 3),
            }
            for e in (*answer.ground.passes, *answer.ground.years)
        ],
    }
