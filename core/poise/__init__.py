"""poise balances frames shot by shot, steered by measured scopes."""

__version__ = "0.1.0"
