"""Picture meters: one luma plane in, one row per frame out."""
