"""Results against limits: the room to each limit in its own unit, and the cautions that go with the work."""

from ringwright.judgement.cautions import Caution, cautions
from ringwright.judgement.judging import Judgement, judge, rooms
from ringwright.judgement.room import Authority, Kind, Place, Room, nearest_first

__all__ = ["Authority", "Caution", "Judgement", "Kind", "Place", "Room", "cautions", "judge", "nearest_first", "rooms"]
