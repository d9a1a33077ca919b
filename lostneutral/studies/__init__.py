"""Questions put to a solved case: each changes it a little and follows the settled state that is known."""
