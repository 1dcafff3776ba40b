"""Notes to samples to loudspeaker."""
