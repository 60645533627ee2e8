"""The run as a Prefect flow: each step is a task, with retries when reading or writing fails.

This module imports Prefect, which takes a second or two. Without ``PREFECT_API_URL``, Prefect starts its own server for
the run.
"""

from pathlib import Path
from typing import Any

import duckdb
from prefect import flow, task
from prefect.artifacts import create_markdown_artifact
from prefect.cache_policies import NO_CACHE
from prefect.client.schemas.objects import State, TaskRun
from prefect.settings import PREFECT_FLOWS_HEARTBEAT_FREQUENCY, temporary_settings
from prefect.utilities.annotations import quote

from pipelines.flows import steps
from pipelines.flows.report import Report
from pipelines.flows.summary import as_markdown
from pipelines.settings import Laboratory


def is_transient(_task: object, _run: TaskRun, state: State[Any]) -> bool:
    """Return whether a task failed on reading or writing, so that a retry can help."""
    try:
        state.result()
    except (OSError, duckdb.IOException):
        return True
    except Exception:
        return False
    return False


def _as_task(step: steps.Step) -> steps.Step:
    """Return a step as a task, which starts from what the step before left in the run's copy, so it can be retried."""
    run_task: Any = task(
        name=step.__name__,
        retries=2,
        retry_delay_seconds=[2, 10],
        retry_condition_fn=is_transient,
        cache_policy=NO_CACHE,
        persist_result=False,
    )(step)
    # Quoted, so that Prefect does not search every profile for results of other tasks.
    return lambda context: run_task(quote(context))


@flow(name="nightly", flow_run_name="{lab}", persist_result=False, validate_parameters=False)
def nightly(lab: str) -> Report:
    """Run all steps for the laboratory in the folder ``lab``, each as a task; raises what ``steps.run`` raises."""
    report = steps.run(Laboratory(Path(lab)), _as_task)
    create_markdown_artifact(
        key="night", markdown=as_markdown(report), description=f"Run of {report.laboratory.root.name}"
    )
    return report


def run(laboratory: Laboratory) -> Report:
    """Run the flow in this process, with Prefect's own server unless another is set."""
    with temporary_settings({PREFECT_FLOWS_HEARTBEAT_FREQUENCY: None}):
        return nightly(str(laboratory.root))
