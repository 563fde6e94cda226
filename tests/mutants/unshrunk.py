"""A pytest plugin: Hypothesis stops at the first failure it finds and does not make it smaller."""

from hypothesis import HealthCheck, Phase, settings

settings.register_profile(
    "unshrunk",
    phases=[Phase.explicit, Phase.generate],
    database=None,
    derandomize=True,
    deadline=None,
    suppress_health_check=list(HealthCheck),
)
settings.load_profile("unshrunk")
