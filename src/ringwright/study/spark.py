"""Spark as the engine, for a group of mills that keeps its records there; needs the extra ``spark`` and Java."""

from __future__ import annotations

import os
import shutil
from collections.abc import Sequence
from importlib.util import find_spec
from pathlib import Path
from typing import Final

import ibis
import ibis.expr.types as ir

from ringwright.refusal import Fault, Refusal

__all__ = ["LOCAL", "open_spark", "read_files"]

LOCAL: Final = "local[*]"
_QUIET: Final = Path(__file__).parent / "spark-log.properties"


def open_spark(memory: str = "2GB", master: str = LOCAL) -> ibis.BaseBackend:
    """Open a Spark session; Refusal if the extra or Java is missing, or if the master does not answer.

    ``memory`` is that of the driver. Times stay whole numbers, so the session's zone (UTC) is never asked.
    """
    local = master.startswith("local")
    _need(java=local)
    from pyspark.errors import PySparkException  # noqa: PLC0415 - only with the extra
    from pyspark.sql import SparkSession  # noqa: PLC0415

    if local:
        os.environ.setdefault("SPARK_LOCAL_IP", "127.0.0.1")
    settings = {
        "spark.driver.memory": memory.lower().replace(" ", "").removesuffix("b"),  # as Java writes it: 2g, 800m
        "spark.driver.extraJavaOptions": f"-Dlog4j2.configurationFile={_QUIET.as_uri()}",
        "spark.sql.session.timeZone": "UTC",
        "spark.sql.execution.arrow.pyspark.enabled": "true",
        "spark.sql.shuffle.partitions": "8" if local else "200",
        "spark.ui.enabled": "false",
        "spark.ui.showConsoleProgress": "false",
    }
    builder = SparkSession.builder.appName("ringwright").master(master)
    for key, value in settings.items():
        builder = builder.config(key, value)
    try:
        return ibis.pyspark.connect(builder.getOrCreate())
    except (PySparkException, OSError) as error:
        reason = str(error).strip().splitlines()[0][:200]
        wants = "a Spark master that answers, and Java 17 or 21 for a local one"
        raise Refusal(Fault(where=f"Spark at {master}", got=f"not started ({reason})", wants=wants)) from None


def _need(*, java: bool) -> None:
    """Refuse with all that is missing."""
    faults = []
    if find_spec("pyspark") is None:
        mend = 'Install it with: pip install "ringwright[spark]"'
        faults.append(Fault(where="the extra spark", got="not installed", wants="installed", mend=mend))
    if java and not (os.environ.get("JAVA_HOME") or shutil.which("java")):
        mend = "On Debian: apt-get install default-jre-headless"
        faults.append(Fault(where="Java", got="not found", wants="Java 17 or 21 on the path", mend=mend))
    if faults:
        raise Refusal(faults)


def read_files(engine: ibis.BaseBackend, paths: Sequence[str]) -> ir.Table:
    """Give Parquet files to Spark as one table, without columns made of the folders' names."""
    from pyspark.sql import SparkSession  # noqa: PLC0415 - only with the extra

    session = SparkSession.getActiveSession()
    if session is None:
        raise Refusal(Fault(where="Spark", got="not running", wants="a session that is open"))
    name = ibis.util.gen_name("files")
    session.read.option("recursiveFileLookup", "true").parquet(*paths).createOrReplaceTempView(name)
    return engine.table(name)
