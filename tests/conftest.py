"""What holds for every test: a property is judged by what it finds, never by how long a busy machine took over it."""

from hypothesis import HealthCheck, settings

settings.register_profile("unhurried", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("unhurried")
