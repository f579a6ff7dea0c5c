"""Run the command line: `python -m fleetcare`."""

from fleetcare.cli.main import main

__all__ = ["main"]

if __name__ == "__main__":
    main()
