"""Where numbers come from: the bibliography and cited numbers."""

from ringwright.sources.bibliography import Grade, Source, bibliography, cited_in, sources_of
from ringwright.sources.cited import Cited

__all__ = ["Cited", "Grade", "Source", "bibliography", "cited_in", "sources_of"]
