"""The drive of a frame: what belt, tapes or motors do to the speed, twist and energy of every spindle."""
