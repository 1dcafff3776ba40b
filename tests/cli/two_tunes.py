"""Two tunes as the commands take them in."""

REEL = ("add", "The Saltpan Reel", "--also", "Estuary Reel", "--key", "D", "--kind", "reel",
        "--metre", "C|", "--a", "A2 FA DAFA | B2", "--b", "f2 df afdf")  # fmt: skip
JIG = ("add", "Hall Jig", "--key", "Em", "--kind", "jig", "--metre", "6/8", "--tuning", "AEAE",
       "--a", "EBB BAB")  # fmt: skip
