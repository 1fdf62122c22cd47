"""What people do with a topic between two checks: people.py FILE.bcf ID sets a status and writes a
comment, in place, with nothing but a zip and an XML library."""

import json
import shutil
import sys
import zipfile

from lxml import etree


def main(file, guid):
    with zipfile.ZipFile(file) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    name = f"{guid}/markup.bcf"
    tree = etree.fromstring(files[name])
    topic = tree.find("Topic")
    topic.set("TopicStatus", "In hand")
    comment = etree.Element("Comment", Guid="0a3f9d5e-5c0e-4b53-9a55-0f6f8d2c1b7a")
    for tag, text in [("Date", "2026-12-01T08:00:00Z"), ("Author", "site@example.org"),
                      ("Comment", "Moved in the next issue.")]:
        etree.SubElement(comment, tag).text = text
    views = topic.find("Viewpoints")
    if views is None:
        tree.find("Viewpoints").addprevious(comment)
    else:
        comments = etree.Element("Comments")
        comments.append(comment)
        views.addprevious(comments)
    files[name] = etree.tostring(tree)
    with zipfile.ZipFile(file + ".new", "w") as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    shutil.move(file + ".new", file)
    json.dump({"told": True}, sys.stdout)


main(*sys.argv[1:])
