"""How properties are tried: without a clock, since machines differ; with the same examples every time in CI,
so that a change is judged by what it changes, and with new ones on every developer's run."""

import os

from hypothesis import HealthCheck, settings

settings.register_profile(
    "leyfold",
    deadline=None,
    derandomize=bool(os.environ.get("CI")),
    print_blob=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("leyfold")
