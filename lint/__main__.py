"""``python -m lineshaft``: the same as the console command."""

from lineshaft.cli import main

if __name__ == "__main__":
    main()
