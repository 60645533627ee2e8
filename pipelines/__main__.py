"""The entry point: it hears Ctrl-C before it loads anything."""

from pipelines import signals


def main() -> None:
    """Run the command line."""
    with signals.heard():
        with signals.loading():
            from pipelines import cli
        cli.main()


if __name__ == "__main__":
    main()
