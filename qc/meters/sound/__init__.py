"""Sound meters: float64 blocks of (samples, channels) in, one row per 10 ms out."""
