"""What several commands share: options, finding shots, progress, and how results are printed."""
