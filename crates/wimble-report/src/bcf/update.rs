//! An earlier file carried on: what people wrote is kept, what the check says is renewed.
//!
//! Kept of a topic that is found again: status, comments, labels, priority, assignment, due date,
//! stage, links, documents, further viewpoints, who made it and when. Renewed: title, description,
//! files, our viewpoint. A topic of ours that is no longer found is closed with a comment, if
//! nobody has given it another status; topics of others stay as they are.

use super::Version;
use super::entry::{Entry, View};
use super::markup::{CLOSED, OPEN, SNAPSHOT_FILE, VIEW_FILE, labels};
use super::topic;
use super::xml::Node;
use std::collections::BTreeMap;

/// Who speaks and when.
pub(crate) struct Voice {
    pub(crate) author: String,
    pub(crate) time: String,
    /// The files that were checked, in words.
    pub(crate) files: String,
}

/// Elements of a topic that people set, in the order of the schema, under both versions' names.
const KEPT: [&str; 16] = [
    "ReferenceLink",
    "ReferenceLinks",
    "Priority",
    "Index",
    "CreationDate",
    "CreationAuthor",
    "DueDate",
    "AssignedTo",
    "Stage",
    "BimSnippet",
    "DocumentReference",
    "DocumentReferences",
    "RelatedTopic",
    "RelatedTopics",
    "Comments",
    "Viewpoints",
];

/// The order of a topic's elements in the schema.
const ORDER: [&str; 22] = [
    "ReferenceLink",
    "ReferenceLinks",
    "Title",
    "Priority",
    "Index",
    "Labels",
    "CreationDate",
    "CreationAuthor",
    "ModifiedDate",
    "ModifiedAuthor",
    "DueDate",
    "AssignedTo",
    "Stage",
    "Description",
    "BimSnippet",
    "DocumentReference",
    "DocumentReferences",
    "RelatedTopic",
    "RelatedTopics",
    "Comments",
    "Viewpoints",
    "",
];

/// A topic that is found again.
pub(crate) fn again(new: Entry, mut old: Entry, version: Version, voice: &Voice) -> Entry {
    let mut entry = new;
    let mut comments = old.comments(version);
    let gone = closing_id(&old.id());
    let closed_by_us = last_id(&comments).is_some_and(|id| id == gone);
    let (old_views, new_views) = (old.views(version), entry.views(version));
    if let (Some(was), Some(topic)) = (old.topic().cloned(), entry.topic_mut()) {
        merge(topic, &was, version, voice);
    }
    match old.status() {
        CLOSED if closed_by_us => {
            entry.set_status(OPEN);
            comments.push(comment(&old.id(), "found again", voice));
        }
        CLOSED => {
            let said = comment(&old.id(), "closed, and still found", voice);
            if !comments.iter().any(|c| c.attribute("Guid") == said.attribute("Guid")) {
                comments.push(said);
            }
            entry.set_status(CLOSED);
        }
        "" => {}
        status => entry.set_status(status),
    }
    let referred = |view: &View| {
        comments
            .iter()
            .filter_map(|c| c.child("Viewpoint")?.attribute("Guid"))
            .any(|guid| guid.eq_ignore_ascii_case(&view.id))
    };
    let mut views = new_views.clone();
    for view in old_views {
        if new_views.iter().any(|new| new.id == view.id) {
            continue;
        }
        let ours = view.file.as_deref() == Some(VIEW_FILE);
        if ours && !referred(&view) {
            continue;
        }
        views.push(move_files(&view, &mut old.files, &mut entry.files));
    }
    // What else lies in the folder: snippets, documents, bitmaps of people's viewpoints.
    for (name, bytes) in old.files {
        if name != VIEW_FILE && name != SNAPSHOT_FILE {
            entry.files.entry(name).or_insert(bytes);
        }
    }
    entry.close(comments, &views, version);
    entry
}

/// A topic that is not found any more.
pub(crate) fn gone(mut old: Entry, version: Version, voice: &Voice) -> Entry {
    let is_ours = old.topic().and_then(|topic| topic.child("Description")).is_some_and(|text| {
        let key = text.text.lines().last().and_then(|line| line.strip_prefix("Topic "));
        key.is_some_and(|key| topic::id(key).to_string() == old.id())
    });
    if is_ours && old.status() == OPEN {
        let mut comments = old.comments(version);
        comments.push(comment(&old.id(), "no longer found", voice));
        let views = old.views(version);
        old.set_status(CLOSED);
        old.close(comments, &views, version);
    }
    old
}

/// What people set, over what the check would set.
fn merge(topic: &mut Node, was: &Node, version: Version, voice: &Voice) {
    for name in ["TopicType", "ServerAssignedId"] {
        if let Some(value) = was.attribute(name) {
            match topic.attributes.iter_mut().find(|(key, _)| key == name) {
                Some((_, kept)) => value.clone_into(kept),
                None => topic.attributes.push((name.into(), value.into())),
            }
        }
    }
    let changed = ["Title", "Description"].iter().any(|name| {
        let text = |node: &Node| node.child(name).map(|n| n.text.clone());
        text(topic) != text(was)
    });
    let label_list = |node: &Node| -> Vec<String> {
        match version {
            Version::V2 => node.all("Labels").map(|n| n.text.clone()).collect(),
            Version::V3 => node
                .child("Labels")
                .map(|n| n.children.iter().map(|l| l.text.clone()).collect())
                .unwrap_or_default(),
        }
    };
    let mut all = label_list(was);
    all.extend(label_list(topic).into_iter().filter(|l| !was_has(was, l, &label_list)));
    topic.children.retain(|node| node.name != "Labels");
    topic.children.extend(labels(&all, version));
    for name in KEPT {
        if was.child(name).is_some() {
            topic.children.retain(|node| node.name != name);
            topic.children.extend(was.all(name).cloned());
        }
    }
    let modified = ["ModifiedDate", "ModifiedAuthor"];
    if changed {
        topic.children.push(Node::leaf(modified[0], voice.time.as_str()));
        topic.children.push(Node::leaf(modified[1], voice.author.as_str()));
    } else {
        topic.children.extend(modified.iter().filter_map(|name| was.child(name)).cloned());
    }
    let place = |node: &Node| ORDER.iter().position(|name| *name == node.name);
    topic.children.sort_by_key(|node| place(node).unwrap_or(ORDER.len()));
}

fn was_has(was: &Node, label: &str, list: &dyn Fn(&Node) -> Vec<String>) -> bool {
    list(was).iter().any(|known| known == label)
}

/// The files of a viewpoint under names that no other viewpoint has.
fn move_files(
    view: &View,
    from: &mut BTreeMap<String, Vec<u8>>,
    into: &mut BTreeMap<String, Vec<u8>>,
) -> View {
    let mut carry = |name: &Option<String>, ending: &str| -> Option<String> {
        let name = name.as_ref()?;
        let bytes = from.remove(name)?;
        let new =
            if into.contains_key(name) { format!("{}.{ending}", view.id) } else { name.clone() };
        into.insert(new.clone(), bytes);
        Some(new)
    };
    View {
        id: view.id.clone(),
        file: carry(&view.file, "bcfv"),
        snapshot: carry(&view.snapshot, "png"),
    }
}

fn closing_id(topic: &str) -> String {
    topic::id(&format!("{topic} no longer found")).to_string()
}

fn last_id(comments: &[Node]) -> Option<&str> {
    comments.last().and_then(|comment| comment.attribute("Guid"))
}

/// A comment of ours; the same thing said of the same files has the same id.
fn comment(topic: &str, what: &str, voice: &Voice) -> Node {
    let id = match what {
        "no longer found" => closing_id(topic),
        _ => topic::id(&format!("{topic} {what} {}", voice.files)).to_string(),
    };
    let mut letters = what.chars();
    let text: String =
        letters.next().map(|c| c.to_ascii_uppercase()).into_iter().chain(letters).collect();
    Node::new("Comment").with("Guid", id).of([
        Node::leaf("Date", voice.time.as_str()),
        Node::leaf("Author", voice.author.as_str()),
        Node::leaf("Comment", format!("{text} in the check of {}.", voice.files)),
    ])
}
