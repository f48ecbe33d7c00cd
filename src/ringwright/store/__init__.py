"""The store: break records and running time as Parquet files, and a ledger of what was taken in."""

from ringwright.store.ledger import Take
from ringwright.store.place import store_mill
from ringwright.store.rounds import Round
from ringwright.store.store import Store, open_store
from ringwright.store.take import take_file, take_rows

__all__ = ["Round", "Store", "Take", "open_store", "store_mill", "take_file", "take_rows"]
