"""Judge per outlet: (measurement, profile) -> findings. Opens no media."""
