"""Code that several commands share: options, finding shots, saving decisions, progress and output."""
