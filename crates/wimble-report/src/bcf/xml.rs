//! Just enough XML for topics: a tree that is read, carried on and written.

use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

/// An element. Text beside child elements is not kept: topics have none.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Node {
    pub(crate) name: String,
    pub(crate) attributes: Vec<(String, String)>,
    pub(crate) text: String,
    pub(crate) children: Vec<Node>,
}

impl Node {
    pub(crate) fn new(name: &str) -> Self {
        Self { name: name.into(), ..Self::default() }
    }

    pub(crate) fn leaf(name: &str, text: impl Into<String>) -> Self {
        Self { name: name.into(), text: text.into(), ..Self::default() }
    }

    pub(crate) fn with(mut self, attribute: &str, value: impl Into<String>) -> Self {
        self.attributes.push((attribute.into(), value.into()));
        self
    }

    pub(crate) fn of(mut self, children: impl IntoIterator<Item = Self>) -> Self {
        self.children.extend(children);
        self
    }

    pub(crate) fn child(&self, name: &str) -> Option<&Self> {
        self.children.iter().find(|child| child.name == name)
    }

    pub(crate) fn all<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a Self> {
        self.children.iter().filter(move |child| child.name == name)
    }

    pub(crate) fn attribute(&self, name: &str) -> Option<&str> {
        let found = self.attributes.iter().find(|(key, _)| key == name);
        found.map(|(_, value)| value.as_str())
    }

    /// Reads a document; `None` if it is none. Prefixes of namespaces are dropped.
    pub(crate) fn read(text: &str) -> Option<Self> {
        let mut reader = Reader::from_str(text);
        let mut open: Vec<Self> = Vec::new();
        loop {
            match reader.read_event().ok()? {
                Event::Start(start) => open.push(opened(&start)?),
                Event::Empty(start) => {
                    let node = opened(&start)?;
                    let Some(parent) = open.last_mut() else { return Some(node) };
                    parent.children.push(node);
                }
                Event::Text(text) => {
                    if let Some(node) = open.last_mut() {
                        node.text.push_str(&text.xml10_content());
                    }
                }
                Event::CData(text) => {
                    if let Some(node) = open.last_mut() {
                        node.text.push_str(&text.xml10_content());
                    }
                }
                Event::GeneralRef(name) => {
                    if let Some(node) = open.last_mut() {
                        node.text.push_str(&resolved(&name)?);
                    }
                }
                Event::End(_) => {
                    let mut node = open.pop()?;
                    if !node.children.is_empty() {
                        node.text.clear();
                    }
                    let Some(parent) = open.last_mut() else { return Some(node) };
                    parent.children.push(node);
                }
                Event::Eof => return None,
                _ => {}
            }
        }
    }

    /// The document as text, an element a line.
    pub(crate) fn document(&self) -> String {
        let mut text = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
        self.write(0, &mut text);
        text
    }

    fn write(&self, depth: usize, out: &mut String) {
        let indent = "  ".repeat(depth);
        out.push_str(&format!("{indent}<{}", self.name));
        for (name, value) in &self.attributes {
            out.push_str(&format!(" {name}=\"{}\"", escape(value).replace('\n', "&#10;")));
        }
        if self.children.is_empty() && self.text.is_empty() {
            out.push_str("/>\n");
            return;
        }
        out.push('>');
        if self.children.is_empty() {
            out.push_str(&escape(&self.text));
        } else {
            out.push('\n');
            for child in &self.children {
                child.write(depth + 1, out);
            }
            out.push_str(&indent);
        }
        out.push_str(&format!("</{}>\n", self.name));
    }
}

use crate::drawing::escape;

/// The five names that XML knows, and characters by number.
fn resolved(name: &quick_xml::events::BytesRef<'_>) -> Option<String> {
    if let Some(letter) = name.resolve_char_ref().ok()? {
        return Some(letter.into());
    }
    quick_xml::escape::resolve_xml_entity(&name.xml10_content()).map(str::to_owned)
}

fn opened(start: &BytesStart<'_>) -> Option<Node> {
    let mut node = Node::new(start.local_name().as_ref());
    for attribute in start.attributes() {
        let attribute = attribute.ok()?;
        let key: &str = attribute.key.as_ref();
        if key != "xmlns" && !key.contains(':') {
            let value = quick_xml::escape::unescape(&attribute.value).ok()?.into_owned();
            node.attributes.push((key.to_owned(), value));
        }
    }
    Some(node)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_is_read_back() {
        let node = Node::new("Topic")
            .with("Guid", "a\"b<")
            .of([Node::leaf("Title", "48 hole & <more>\nsecond line"), Node::new("Empty")]);
        assert_eq!(Node::read(&node.document()).unwrap(), node);
    }

    #[test]
    fn damaged_documents_are_none() {
        for text in ["", "<a>", "<a></b>", "no xml", "<a>&unknown;</a>"] {
            assert_eq!(Node::read(text), None, "{text}");
        }
    }
}
