"""``python -m loadsim``."""

from loadsim.cli import main

if __name__ == "__main__":
    main()
