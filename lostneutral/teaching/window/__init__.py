"""The exploration window: settings (what is set), session (what follows), frame (what is shown), view and window."""
