"""The spindle as a rotor: its critical speeds and its run from empty tube to full cop, for one frame and yarn."""

from ringwright.spindle.card import card_line
from ringwright.spindle.study import SpindleStudy, study_spindle
from ringwright.spindle.tried import AS_BUILT, TriedSpindle

__all__ = ["AS_BUILT", "SpindleStudy", "TriedSpindle", "card_line", "study_spindle"]
