//! The files at the top of the archive: version, project, and the words that are used.

use super::Version;
use super::archive::Files;
use super::entry::Entry;
use super::topic;
use super::xml::Node;
use crate::Report;
use std::collections::{BTreeMap, BTreeSet};

/// The version that an archive says it is.
pub(crate) fn of(files: &Files) -> Option<Version> {
    let text = String::from_utf8_lossy(files.get("bcf.version")?).into_owned();
    let node = Node::read(text.trim_start_matches('\u{feff}'))?;
    Version::of(node.attribute("VersionId")?)
}

/// The files at the top. The project of an earlier file stays as it was.
pub(crate) fn files(report: &Report, all: &BTreeMap<String, Entry>, version: Version) -> Files {
    let words = Words::of(all, version);
    let mut top = Node::new("Version").with("VersionId", version.text());
    if version == Version::V2 {
        top.children.push(Node::leaf("DetailedVersion", version.text()));
    }
    let mut files = Files::from([("bcf.version".to_owned(), top.document().into_bytes())]);
    let project = Node::new("Project").with("ProjectId", project_id(report));
    match version {
        Version::V2 => {
            let node = Node::new("ProjectExtension")
                .of([project, Node::leaf("ExtensionSchema", "extensions.xsd")]);
            files.insert("project.bcfp".into(), node.document().into_bytes());
            files.insert("extensions.xsd".into(), words.xsd().into_bytes());
        }
        Version::V3 => {
            let node = Node::new("ProjectInfo").of([project]);
            files.insert("project.bcfp".into(), node.document().into_bytes());
            files.insert("extensions.xml".into(), words.xml().document().into_bytes());
        }
    }
    files
}

/// The GlobalId of the first project, as an id of the format.
fn project_id(report: &Report) -> String {
    let guid = report.inputs.iter().find_map(|input| input.project.as_deref()).unwrap_or("-");
    topic::id(&format!("project {guid}")).to_string()
}

/// The words that topics use, each once, in order.
#[derive(Default)]
struct Words {
    types: BTreeSet<String>,
    statuses: BTreeSet<String>,
    priorities: BTreeSet<String>,
    labels: BTreeSet<String>,
    users: BTreeSet<String>,
    snippets: BTreeSet<String>,
    stages: BTreeSet<String>,
}

impl Words {
    fn of(all: &BTreeMap<String, Entry>, version: Version) -> Self {
        let mut words = Self::default();
        // What people will choose next, even if no topic has it yet.
        words.statuses.extend(["Open".to_owned(), "Closed".to_owned()]);
        for entry in all.values() {
            let Some(topic) = entry.topic() else { continue };
            let text = |name: &str| topic.child(name).map(|node| node.text.clone());
            words.types.extend(topic.attribute("TopicType").map(str::to_owned));
            words.statuses.extend(topic.attribute("TopicStatus").map(str::to_owned));
            words.priorities.extend(text("Priority"));
            words.stages.extend(text("Stage"));
            match version {
                Version::V2 => words.labels.extend(topic.all("Labels").map(|n| n.text.clone())),
                Version::V3 => {
                    let list = topic.child("Labels").into_iter().flat_map(|n| &n.children);
                    words.labels.extend(list.map(|n| n.text.clone()));
                }
            }
            let snippet = topic.child("BimSnippet").and_then(|n| n.attribute("SnippetType"));
            words.snippets.extend(snippet.map(str::to_owned));
            words.users.extend(
                ["CreationAuthor", "ModifiedAuthor", "AssignedTo"].iter().filter_map(|n| text(n)),
            );
            for comment in entry.comments(version) {
                let author = comment.child("Author").map(|node| node.text.clone());
                words.users.extend(author);
            }
        }
        for set in [
            &mut words.types,
            &mut words.statuses,
            &mut words.priorities,
            &mut words.labels,
            &mut words.users,
            &mut words.snippets,
            &mut words.stages,
        ] {
            set.retain(|word| !word.trim().is_empty());
        }
        words
    }

    fn xml(&self) -> Node {
        let list = |name: &str, one: &str, words: &BTreeSet<String>| {
            Node::new(name).of(words.iter().map(|word| Node::leaf(one, word.as_str())))
        };
        Node::new("Extensions").of([
            list("TopicTypes", "TopicType", &self.types),
            list("TopicStatuses", "TopicStatus", &self.statuses),
            list("Priorities", "Priority", &self.priorities),
            list("TopicLabels", "TopicLabel", &self.labels),
            list("Users", "User", &self.users),
            list("SnippetTypes", "SnippetType", &self.snippets),
            list("Stages", "Stage", &self.stages),
        ])
    }

    /// Version 2.1 lists words by narrowing the types of its markup schema.
    fn xsd(&self) -> String {
        let narrowed = |name: &str, words: &BTreeSet<String>| {
            let values =
                words.iter().map(|word| Node::new("xs:enumeration").with("value", word.as_str()));
            Node::new("xs:simpleType")
                .with("name", name)
                .of([Node::new("xs:restriction").with("base", name).of(values)])
        };
        let kinds = [
            ("TopicType", &self.types),
            ("TopicStatus", &self.statuses),
            ("TopicLabel", &self.labels),
            ("Priority", &self.priorities),
            ("UserIdType", &self.users),
            ("Stage", &self.stages),
        ];
        let kinds = kinds.into_iter().filter(|(_, words)| !words.is_empty());
        let redefine = Node::new("xs:redefine")
            .with("schemaLocation", "markup.xsd")
            .of(kinds.map(|(name, words)| narrowed(name, words)));
        Node::new("xs:schema")
            .with("xmlns:xs", "http://www.w3.org/2001/XMLSchema")
            .of([redefine])
            .document()
    }
}
