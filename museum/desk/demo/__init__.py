"""The demo museum: the invented Tallowick Rescue Heritage Society, made through the same actions as everything else."""
