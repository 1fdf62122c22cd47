//! A topic as it stands in a file, in the words of either version.

use super::xml::Node;
use super::{BcfError, Version};
use std::collections::BTreeMap;

/// A topic in a file: its markup and the files beside it.
#[derive(Debug, Clone)]
pub(crate) struct Entry {
    pub(crate) markup: Node,
    /// Files in the topic's folder besides the markup, by name.
    pub(crate) files: BTreeMap<String, Vec<u8>>,
}

/// A viewpoint as the markup lists it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct View {
    pub(crate) id: String,
    pub(crate) file: Option<String>,
    pub(crate) snapshot: Option<String>,
}

impl Entry {
    /// Reads a markup.
    pub(crate) fn read(text: &[u8], path: &str) -> Result<Self, BcfError> {
        let text = String::from_utf8_lossy(text);
        let markup = Node::read(text.trim_start_matches('\u{feff}'));
        let markup =
            markup.filter(|m| m.child("Topic").is_some_and(|t| t.attribute("Guid").is_some()));
        let markup = markup.ok_or_else(|| BcfError::Markup(crate::say::plain(path)))?;
        Ok(Self { markup, files: BTreeMap::new() })
    }

    pub(crate) fn topic(&self) -> Option<&Node> {
        self.markup.child("Topic")
    }

    pub(crate) fn topic_mut(&mut self) -> Option<&mut Node> {
        self.markup.children.iter_mut().find(|node| node.name == "Topic")
    }

    pub(crate) fn id(&self) -> String {
        self.topic().and_then(|t| t.attribute("Guid")).unwrap_or_default().to_ascii_lowercase()
    }

    pub(crate) fn status(&self) -> &str {
        self.topic().and_then(|t| t.attribute("TopicStatus")).unwrap_or_default()
    }

    pub(crate) fn set_status(&mut self, status: &str) {
        let Some(topic) = self.topic_mut() else { return };
        match topic.attributes.iter_mut().find(|(name, _)| name == "TopicStatus") {
            Some((_, value)) => status.clone_into(value),
            None => topic.attributes.push(("TopicStatus".into(), status.into())),
        }
    }

    /// Comments, oldest first as they stand.
    pub(crate) fn comments(&self, version: Version) -> Vec<Node> {
        match version {
            Version::V2 => self.markup.all("Comment").cloned().collect(),
            Version::V3 => {
                let list = self.topic().and_then(|topic| topic.child("Comments"));
                list.map(|list| list.children.clone()).unwrap_or_default()
            }
        }
    }

    pub(crate) fn views(&self, version: Version) -> Vec<View> {
        let nodes: Vec<&Node> = match version {
            Version::V2 => self.markup.all("Viewpoints").collect(),
            Version::V3 => {
                let list = self.topic().and_then(|topic| topic.child("Viewpoints"));
                list.map(|list| list.children.iter().collect()).unwrap_or_default()
            }
        };
        let text = |node: &Node, name: &str| node.child(name).map(|n| n.text.trim().to_owned());
        nodes
            .into_iter()
            .map(|node| View {
                id: node.attribute("Guid").unwrap_or_default().to_ascii_lowercase(),
                file: text(node, "Viewpoint").filter(|t| !t.is_empty()),
                snapshot: text(node, "Snapshot").filter(|t| !t.is_empty()),
            })
            .collect()
    }

    /// Puts comments and viewpoints where the version has them, after what it has already.
    pub(crate) fn close(&mut self, comments: Vec<Node>, views: &[View], version: Version) {
        let views = (0..).zip(views).map(|(index, view)| {
            let name = if version == Version::V2 { "Viewpoints" } else { "ViewPoint" };
            let mut node = Node::new(name).with("Guid", view.id.as_str());
            node.children.extend(view.file.as_ref().map(|file| Node::leaf("Viewpoint", file)));
            node.children.extend(view.snapshot.as_ref().map(|file| Node::leaf("Snapshot", file)));
            node.children.push(Node::leaf("Index", u32::to_string(&index)));
            node
        });
        let views: Vec<Node> = views.collect();
        match version {
            Version::V2 => {
                self.markup.children.retain(|n| n.name != "Comment" && n.name != "Viewpoints");
                self.markup.children.extend(comments);
                self.markup.children.extend(views);
            }
            Version::V3 => {
                let Some(topic) = self.topic_mut() else { return };
                topic.children.retain(|n| n.name != "Comments" && n.name != "Viewpoints");
                if !comments.is_empty() {
                    topic.children.push(Node::new("Comments").of(comments));
                }
                if !views.is_empty() {
                    topic.children.push(Node::new("Viewpoints").of(views));
                }
            }
        }
    }
}
