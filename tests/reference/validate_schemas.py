"""Validates the same files against rulesets/schemas with a validator of another author (the Python package jsonschema).

Needs Python 3.11 (tomllib) and jsonschema. What has to hold:
- each schema is one by the rules of draft 2020-12;
- every file of demo-data, rulesets and tests/schemas fits its kind;
- every case of tests/schemas/refused.toml is refused;
- with --wayproof PROGRAM: what `check --format json` writes for each demo fits the schema of records.

    python tests/reference/validate_schemas.py [--wayproof target/debug/wayproof]
"""

import argparse
import datetime
import json
import pathlib
import subprocess
import sys
import tomllib

from jsonschema import Draft202012Validator

ROOT = pathlib.Path(__file__).resolve().parents[2]
KINDS = ["package", "catalogue", "ruleset", "overlay", "readings", "mapping", "record", "bid"]


def as_json(value):
    """TOML as JSON: dates become texts."""
    if isinstance(value, dict):
        return {key: as_json(part) for key, part in value.items()}
    if isinstance(value, list):
        return [as_json(part) for part in value]
    if isinstance(value, (datetime.date, datetime.time)):
        return value.isoformat()
    return value


def kind_of(file):
    kinds = [("sheet", "mapping"), ("vehicle", "package"), ("model", "catalogue"), ("overlay", "overlay")]
    for key, kind in [*kinds, ("reading", "readings"), ("bid", "bid")]:
        if key in file:
            return kind
    return "ruleset"


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--wayproof", help="the built program, to validate what it writes")
    args = parser.parse_args()

    validators, wrong, passed = {}, [], 0
    for kind in KINDS:
        schema = json.loads((ROOT / "rulesets" / "schemas" / f"{kind}.json").read_text())
        Draft202012Validator.check_schema(schema)
        validators[kind] = Draft202012Validator(schema)

    def fits(kind, file, name):
        nonlocal passed
        errors = list(validators[kind].iter_errors(file))
        wrong.extend(f"{name}: {error.json_path}: {error.message}" for error in errors)
        passed += not errors

    refused = ROOT / "tests" / "schemas" / "refused.toml"
    folders = [ROOT / "demo-data", ROOT / "rulesets", ROOT / "tests" / "schemas"]
    files = sorted(path for folder in folders for path in folder.rglob("*.toml") if path != refused)
    for path in files:
        file = as_json(tomllib.loads(path.read_text()))
        fits(kind_of(file), file, path.relative_to(ROOT))

    cases = tomllib.loads(refused.read_text())["case"]
    for case in cases:
        text = (ROOT / "tests" / "schemas" / case["file"]).read_text()
        kind = kind_of(tomllib.loads(text))
        changed = as_json(tomllib.loads(text.replace(case["old"], case["new"])))
        if validators[kind].is_valid(changed):
            wrong.append(f"{case['file']}: `{case['new']}` is not refused")
        else:
            passed += 1

    packages = sorted((ROOT / "demo-data").glob("*/package.toml")) if args.wayproof else []
    for path in packages:
        name = path.relative_to(ROOT)
        command = [args.wayproof, "check", str(name), "--format", "json", "--as-of", "2026-11-25"]
        run = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
        if run.returncode not in (0, 1, 3):
            wrong.append(f"{name}: status {run.returncode}: {run.stderr}")
            continue
        fits("record", json.loads(run.stdout), f"what check writes for {name}")

    if len(files) < 20 or len(cases) < 100 or (args.wayproof and len(packages) < 6):
        wrong.append(f"only {len(files)} files, {len(cases)} cases and {len(packages)} packages were found")
    for line in wrong:
        print(line, file=sys.stderr)
    print(f"schemas: {len(files)} files, {len(cases)} cases and {len(packages)} records; {passed} as they should be, {len(wrong)} wrong")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
