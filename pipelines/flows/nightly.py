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

from pipelines.flows import steps
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


def _task(step: Any) -> Any:
    # A step starts from what the step before left in the run's copy of the warehouse, so it can be retried.
    return task(
        step,
        name=step.__name__,
        retries=2,
        retry_delay_seconds=[2, 10],
        retry_condition_fn=is_transient,
        cache_policy=NO_CACHE,
        persist_result=False,
    )


collect, ingest, resolve_duplicates, reduce_curves = (
    _task(step) for step in (steps.collect, steps.ingest, steps.resolve_duplicates, steps.reduce_curves)
)
build_models, run_checks, publish, render = (
    _task(step) for step in (steps.build_models, steps.run_checks, steps.publish, steps.render)
)


@flow(name="nightly", flow_run_name="{lab}", persist_result=False, validate_parameters=False)
def nightly(lab: str) -> steps.Report:
    """Import, resolve duplicates, build, check, publish and render for the laboratory in the folder ``lab``.

    Raises AnotherRunActiveError when another run is active, SheetloreError when the run fails; warehouse and snapshots
    are then unchanged.
    """
    laboratory = Laboratory(Path(lab))
    with steps.exclusive_run(laboratory):
        night = steps.begin(laboratory)
        try:
            collected = collect(night)
            if collected.changed:
                ingest(night)
                resolve_duplicates(night)
                reduce_curves(night)
                build_models(night)
                run_checks(night)
                publish(night)
            report = steps.report(night, collected)
            render(night)
        finally:
            steps.clear(night)
    create_markdown_artifact(
        key="night", markdown=as_markdown(report), description=f"Run of {laboratory.root.name}"
    )
    return report


def run(laboratory: Laboratory) -> steps.Report:
    """Run the flow in this process, with Prefect's own server unless another is set."""
    with temporary_settings({PREFECT_FLOWS_HEARTBEAT_FREQUENCY: None}):
        return nightly(str(laboratory.root))
