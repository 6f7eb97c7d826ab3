"""Compile the trials before the tests: otherwise every process of theirs would do it while others wait.

The mark lies beside what it vouches for, so where nothing that is compiled changed, nothing is done.
"""

from pathlib import Path

from buildlog import kernels


def main() -> None:
    folder = kernels.keep_in(Path(__file__).parent.parent / ".kernels")
    mark = folder and folder / "all-compiled"
    if mark and mark.exists():
        return
    from buildlog.core.forecast.result.warm import warm  # brings numba, which reads where its kernels are kept

    warm()
    if mark:
        mark.touch()


if __name__ == "__main__":
    main()
