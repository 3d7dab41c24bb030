"""`python -m wareboard`."""

from wareboard.commands import main

if __name__ == "__main__":
    main()
