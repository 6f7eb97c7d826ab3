"""Asks a public list of vulnerabilities about what the lock pins; a part of ``make lock``.

Without a network, or where the list does not answer, this says so and goes on. A known vulnerability ends it with 1.
"""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import dataclass

NOT_ASKED = "not audited for known vulnerabilities, nobody answered: run `make lock` again with a network"


@dataclass(frozen=True)
class Audit:
    """``findings``: a line for each known vulnerability; ``unknown``: packages of which nothing could be learnt."""

    findings: list[str]
    asked: int
    unknown: int


def read(document: str) -> Audit:
    """What pip-audit found, from its JSON. ValueError: there is none, it could not ask."""
    packages = json.loads(document)["dependencies"]
    audited = [package for package in packages if "skip_reason" not in package]
    findings = [
        f"{package['name']} {package['version']}: {fault['id']}, mended in {', '.join(fault['fix_versions']) or 'none'}"
        for package in audited
        for fault in package["vulns"]
    ]
    return Audit(findings, len(audited), len(packages) - len(audited))


def verdict(document: str) -> tuple[str, int]:
    """What to print, and with what to end."""
    try:
        audit = read(document)
    except ValueError:
        return NOT_ASKED, 0
    if not audit.asked:
        return NOT_ASKED, 0
    told = f"packages audited: {audit.asked}, known vulnerabilities: {len(audit.findings)}"
    if audit.unknown:
        told += f", packages of which nothing could be learnt: {audit.unknown}"
    return "\n".join([told, *audit.findings]), int(bool(audit.findings))


def ask(lock: str) -> str:
    """pip-audit's JSON on a lock with hashes; empty where it could not ask."""
    command = [sys.executable, "-m", "pip_audit", "--requirement", lock, "--require-hashes", "--disable-pip"]
    options = ["--format", "json", "--progress-spinner", "off", "--timeout", "15"]
    return subprocess.run([*command, *options], capture_output=True, text=True).stdout


def main(lock: str) -> int:
    says, code = verdict(ask(lock))
    print(f"{lock}: {says}")
    return code


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
