"""Validates against XSDs: valid.py XSD FILE... prints a JSON list of faults for each file."""

import json
import sys

from lxml import etree


def main(xsd, *files):
    schema = etree.XMLSchema(etree.parse(xsd))
    faults = {}
    for file in files:
        schema.validate(etree.parse(file))
        faults[file] = [str(error) for error in schema.error_log]
    json.dump(faults, sys.stdout)


main(*sys.argv[1:])
