"""What a general reader sees in a file of topics, and what the official schemas say of it.

topics.py FILE.bcf SCHEMAS prints one JSON object: `faults` (against the XSDs; in version 2.1 the
markups also against the words of the file's own extensions.xsd), `files`, and `topics` by id.
"""

import json
import shutil
import sys
import tempfile
import zipfile
from pathlib import Path

from bcf.bcfxml import load
from lxml import etree


def schema(path):
    return etree.XMLSchema(etree.parse(str(path)))


def faults(archive, schemas):
    """Every XML file of the archive against its schema."""
    found = []
    with tempfile.TemporaryDirectory() as folder:
        words = None
        if "extensions.xsd" in archive.namelist():
            shutil.copy(schemas / "markup.xsd", folder)
            (Path(folder) / "extensions.xsd").write_bytes(archive.read("extensions.xsd"))
            words = schema(Path(folder) / "extensions.xsd")
        ends = {
            "bcf.version": ["version.xsd"],
            "project.bcfp": ["project.xsd"],
            "extensions.xml": ["extensions.xsd"],
            "markup.bcf": ["markup.xsd"],
            ".bcfv": ["visinfo.xsd"],
        }
        read = {name: schema(schemas / name) for names in ends.values() for name in names
                if (schemas / name).exists() and name != "extensions.xsd"}
        if words is None:
            read["extensions.xsd"] = schema(schemas / "extensions.xsd")
        for name in archive.namelist():
            kinds = [kind for end, kind in ends.items() if name.endswith(end)]
            if not kinds:
                continue
            tree = etree.fromstring(archive.read(name))
            used = [read[xsd] for xsd in kinds[0]]
            if words is not None and name.endswith("markup.bcf"):
                used.append(words)
            for against in used:
                against.validate(tree)
                found += [f"{name}: {error}" for error in against.error_log]
    return found


def numbers(point):
    return [point.x, point.y, point.z]


def told(handler):
    """A topic as the reader gives it."""
    topic = handler.topic
    labels = topic.labels
    if labels is not None and not isinstance(labels, list):
        labels = labels.label
    views = []
    for view in handler.viewpoints.values():
        info = view.visualization_info
        camera = info.perspective_camera
        components = info.components
        selected = components.selection.component if components.selection else []
        views.append(
            {
                "at": numbers(camera.camera_view_point),
                "direction": numbers(camera.camera_direction),
                "up": numbers(camera.camera_up_vector),
                "field": camera.field_of_view,
                "components": sorted(c.ifc_guid or c.authoring_tool_id for c in selected),
                "snapshot": len(view.snapshot or b""),
            }
        )
    return {
        "title": topic.title,
        "status": topic.topic_status,
        "type": topic.topic_type,
        "priority": topic.priority,
        "labels": sorted(labels or []),
        "assigned": topic.assigned_to,
        "due": str(topic.due_date) if topic.due_date else None,
        "created": str(topic.creation_date),
        "description": topic.description,
        "comments": [c.comment for c in handler.comments],
        "views": views,
    }


def main(file, schemas):
    with zipfile.ZipFile(file) as archive:
        found = faults(archive, Path(schemas))
        files = archive.namelist()
        sizes = []
        for name in files:
            if name.endswith(".png"):
                head = archive.read(name)[:24]
                assert head[1:4] == b"PNG", name
                sizes.append([int.from_bytes(head[16:20], "big"), int.from_bytes(head[20:24], "big")])
    with load(Path(file)) as bcf:
        topics = {guid: told(handler) for guid, handler in bcf.topics.items()}
    json.dump({"faults": found, "files": files, "sizes": sizes, "topics": topics}, sys.stdout)


main(*sys.argv[1:])
