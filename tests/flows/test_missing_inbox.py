"""A missing inbox, such as a share that is not mounted, ends a run; its files do not count as removed."""

import pytest

from pipelines.errors import SheetloreError
from pipelines.flows import steps
from pipelines.warehouse.querying import held_rows


@pytest.mark.parametrize("as_link", [False, True])
def test_a_run_without_its_inbox_fails_clearly_and_changes_nothing(small, tmp_path, as_link):
    share = tmp_path / "share"
    if as_link:
        small.inbox.rename(share)
        small.inbox.symlink_to(share, target_is_directory=True)
    small.readings("a.csv", "S1,1,100,AB", "S1,2,-1,AB")
    first = steps.run(small)
    (share if as_link else small.inbox).rename(tmp_path / "away")
    before = (small.published / "latest.json").read_bytes()
    with pytest.raises(SheetloreError, match=r"^The inbox .+ is missing; nothing was done") as error:
        steps.run(small)
    assert "connect it" in error.value.remedy
    assert (small.published / "latest.json").read_bytes() == before
    assert not (small.inbox.exists() or list(small.root.glob("warehouse.run*")))
    (tmp_path / "away").rename(share if as_link else small.inbox)
    assert not steps.run(small).changed
    assert len(held_rows(first.snapshot)) == 1
