"""`python -m levelbench` is the command `levelbench`."""

from levelbench.cli.main import main

if __name__ == "__main__":
    raise SystemExit(main())
