"""Files times outlets: what to check, whether it has settled, every verdict, one exit status."""
