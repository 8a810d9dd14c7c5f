"""Run every bench: `python -m tests.bench`. A bench is a module here with a `main()`."""

import importlib
import pkgutil

import tests.bench


def main() -> None:
    for module in pkgutil.iter_modules(tests.bench.__path__):
        if module.name.startswith("_"):
            continue
        bench = importlib.import_module(f"tests.bench.{module.name}")
        if hasattr(bench, "main"):
            print(f"== {module.name}")  # noqa: T201
            bench.main()


if __name__ == "__main__":
    main()
