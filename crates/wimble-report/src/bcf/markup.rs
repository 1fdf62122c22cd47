//! A topic of this run as an entry of a file.

use super::camera;
use super::entry::{Entry, View};
use super::topic::{self, Topic};
use super::xml::Node;
use super::{Told, Version, view};
use crate::{Report, drawing};
use jiff::{Timestamp, civil};
use std::collections::BTreeMap;
use wimble_model::Verdict;

/// The status of a topic that nobody has touched yet.
pub(crate) const OPEN: &str = "Open";
/// The status that is given to a topic of ours that is no longer found.
pub(crate) const CLOSED: &str = "Closed";
/// Names that version 2.1 wants for the first viewpoint; harmless in 3.0.
pub(crate) const VIEW_FILE: &str = "viewpoint.bcfv";
pub(crate) const SNAPSHOT_FILE: &str = "snapshot.png";

/// The entry with its viewpoint and its picture.
pub(crate) fn entry(
    report: &Report,
    told: &Told,
    version: Version,
    topic: &Topic,
) -> Result<Entry, drawing::PictureError> {
    let mut markup = Node::new("Markup");
    let files = files(report, topic, version);
    if !files.is_empty() {
        let header = Node::new("Header");
        markup.children.push(match version {
            Version::V2 => header.of(files),
            Version::V3 => header.of([Node::new("Files").of(files)]),
        });
    }
    markup.children.push(topic_node(report, told, version, topic));
    let mut entry = Entry { markup, files: BTreeMap::new() };
    let mut views = Vec::new();
    if let Some(camera) = camera::of(report, topic) {
        let info = view::info(report, topic, &camera, version);
        // A viewpoint never changes under its id: another view is another id.
        let id = topic::id(&format!("{} {}", topic.id, info.document())).to_string();
        let info = info.with("Guid", id.as_str());
        entry.files.insert(VIEW_FILE.into(), info.document().into_bytes());
        let picture = drawing::snapshot(report, topic.member, topic.cut, &topic.title)?;
        let snapshot = picture.map(|png| {
            entry.files.insert(SNAPSHOT_FILE.into(), png);
            SNAPSHOT_FILE.to_owned()
        });
        views.push(View { id, file: Some(VIEW_FILE.into()), snapshot });
    }
    entry.close(Vec::new(), &views, version);
    Ok(entry)
}

/// The files that the topic speaks of.
fn files(report: &Report, topic: &Topic, version: Version) -> Vec<Node> {
    let members = topic.members.iter().filter_map(|ix| report.members.get(ix.at()));
    let services = topic.services.iter().filter_map(|ix| report.services.get(ix.at()));
    let mut inputs: Vec<u32> =
        members.map(|m| m.element.input).chain(services.map(|s| s.element.input)).collect();
    inputs.sort_unstable();
    inputs.dedup();
    let external = if version == Version::V2 { "isExternal" } else { "IsExternal" };
    let inputs = inputs.into_iter().filter_map(|input| report.inputs.get(input as usize));
    inputs
        .map(|input| {
            let mut node = Node::new("File");
            let proper = |guid: &&String| {
                guid.len() == 22
                    && guid.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'_' || b == b'$')
            };
            if let Some(project) = input.project.as_ref().filter(proper) {
                node = node.with("IfcProject", project.as_str());
            }
            let name = input.path.replace('\\', "/");
            let name = crate::say::plain(name.rsplit('/').next().unwrap_or_default());
            let name = if name.is_empty() { "model".into() } else { name };
            node = node.with(external, "true").of([Node::leaf("Filename", name)]);
            node.children.extend(moment(&input.written).map(|time| Node::leaf("Date", time)));
            node
        })
        .collect()
}

fn topic_node(report: &Report, told: &Told, version: Version, topic: &Topic) -> Node {
    let mut node = Node::new("Topic")
        .with("Guid", topic.id.to_string())
        .with("TopicType", kind(topic.verdict))
        .with("TopicStatus", OPEN);
    let leaf = |name: &str, text: &str| Node::leaf(name, text);
    node.children.push(leaf("Title", &topic.title));
    node.children.push(leaf("Priority", told.priority(topic.verdict)));
    node.children.extend(labels(&topic.labels, version));
    node.children.push(leaf("CreationDate", &made(report)));
    node.children.push(leaf("CreationAuthor", &told.author));
    node.children.extend(told.due.as_ref().map(|due| leaf("DueDate", due)));
    node.children.extend(topic.assigned.as_ref().map(|who| leaf("AssignedTo", who)));
    node.children.push(leaf("Description", &topic.description));
    node
}

/// Labels as the version writes them.
pub(crate) fn labels(labels: &[String], version: Version) -> Vec<Node> {
    let labels = labels.iter().filter(|label| !label.trim().is_empty());
    match version {
        Version::V2 => labels.map(|label| Node::leaf("Labels", label)).collect(),
        Version::V3 => {
            vec![Node::new("Labels").of(labels.map(|label| Node::leaf("Label", label)))]
        }
    }
}

/// What kind of topic a verdict makes.
fn kind(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Fail | Verdict::Pass => "Cut not allowed",
        Verdict::Refer => "Question to the engineer",
        Verdict::Unknown => "Fact missing",
    }
}

/// When the topics were made: the time of the issue, else that of the newest model, so that the
/// same models give the same file.
pub(crate) fn made(report: &Report) -> String {
    let newest = || report.inputs.iter().filter_map(|input| moment(&input.written)).max();
    report.issue.time_text().or_else(newest).unwrap_or_else(|| "1970-01-01T00:00:00Z".into())
}

/// A time as exporters write it; without a zone it is taken for UTC.
fn moment(text: &str) -> Option<String> {
    let text = text.trim();
    let time = match text.parse::<Timestamp>() {
        Ok(time) => time,
        Err(_) => {
            let local: civil::DateTime = text.parse().ok()?;
            jiff::tz::TimeZone::UTC.to_timestamp(local).ok()?
        }
    };
    Some(time.strftime("%Y-%m-%dT%H:%M:%SZ").to_string())
}
