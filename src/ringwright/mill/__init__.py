"""The mill on paper: frames, yarns, rovings, travellers, settings and limits."""

from ringwright.mill.creel import Creel, Creeling
from ringwright.mill.demo import demo_mill_path
from ringwright.mill.frame import Frame
from ringwright.mill.gearing import Gearing, Train
from ringwright.mill.limit import Limit
from ringwright.mill.mill import Mill, setting_for
from ringwright.mill.money import Money
from ringwright.mill.origin import origin_of
from ringwright.mill.power import Power
from ringwright.mill.reading import read_mill, read_mill_files
from ringwright.mill.reference import ReferenceRow, reference, rules_in_words
from ringwright.mill.setting import Setting
from ringwright.mill.starter import write_demo_copy, write_starter
from ringwright.mill.traveller import TRAVELLER_MASSES, Traveller
from ringwright.mill.yarn import Roving, Yarn

__all__ = [
    "TRAVELLER_MASSES",
    "Creel",
    "Creeling",
    "Frame",
    "Gearing",
    "Limit",
    "Mill",
    "Money",
    "Power",
    "ReferenceRow",
    "Roving",
    "Setting",
    "Train",
    "Traveller",
    "Yarn",
    "demo_mill_path",
    "origin_of",
    "read_mill",
    "read_mill_files",
    "reference",
    "rules_in_words",
    "setting_for",
    "write_demo_copy",
    "write_starter",
]
