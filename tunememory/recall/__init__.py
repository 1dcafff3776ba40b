"""How well a tune is remembered: belief, forgetting, update, fitting, gain, replay."""
