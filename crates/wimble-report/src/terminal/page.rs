//! A page of at most 100 columns: headings, labelled paragraphs, wrapped.

use super::Options;
use anstyle::{Color, RgbColor, Style};
use std::io::{self, Write};
use wimble_model::Verdict;

/// No line is longer, however wide the terminal.
const WIDEST: usize = 100;
/// A narrower page would break every word.
const NARROWEST: usize = 48;

/// Where the text of a labelled paragraph starts, from its label.
pub(super) const LABEL: usize = 12;

/// Writes lines; knows the width and whether tones may be used.
pub(super) struct Page<'a, W> {
    pub(super) options: Options,
    width: usize,
    out: &'a mut W,
}

/// What a stretch of text is, which decides its tone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Tone {
    /// Headings and names.
    Strong,
    /// Labels and what may be skipped.
    Quiet,
    /// The tone of a verdict.
    Of(Verdict),
}

impl Tone {
    /// The tones of the house (safe for colour blindness); a pass stays in the reader's own ink.
    fn style(self) -> Style {
        let rgb = |r, g, b| Some(Color::Rgb(RgbColor(r, g, b)));
        match self {
            Self::Strong | Self::Of(Verdict::Pass) => Style::new().bold(),
            Self::Quiet => Style::new().dimmed(),
            Self::Of(Verdict::Fail) => Style::new().bold().fg_color(rgb(0xB3, 0x40, 0x1F)),
            Self::Of(Verdict::Refer) => Style::new().bold().fg_color(rgb(0x8A, 0x6D, 0x00)),
            Self::Of(Verdict::Unknown) => Style::new().bold().fg_color(rgb(0x6B, 0x6B, 0x6B)),
        }
    }
}

impl<'a, W: Write> Page<'a, W> {
    pub(super) fn new(options: Options, out: &'a mut W) -> Self {
        Self { options, width: options.width.clamp(NARROWEST, WIDEST), out }
    }

    pub(super) const fn width(&self) -> usize {
        self.width
    }

    pub(super) fn paint(&self, tone: Tone, text: &str) -> String {
        if self.options.colour {
            let style = tone.style();
            format!("{style}{text}{style:#}")
        } else {
            text.to_owned()
        }
    }

    pub(super) fn blank(&mut self) -> io::Result<()> {
        writeln!(self.out)
    }

    /// A line as it stands.
    pub(super) fn raw(&mut self, line: &str) -> io::Result<()> {
        writeln!(self.out, "{}", line.trim_end())
    }

    /// A heading with a rule to the right edge.
    pub(super) fn heading(&mut self, text: &str) -> io::Result<()> {
        let text = self.cut_to(text, self.width.saturating_sub(4));
        let rest = self.width.saturating_sub(textwrap::core::display_width(&text) + 1);
        let line = format!("{} {}", self.paint(Tone::Strong, &text), "─".repeat(rest));
        self.blank()?;
        self.raw(&line)
    }

    /// The sentence that answers the question, set apart.
    pub(super) fn answer(&mut self, sentence: &str) -> io::Result<()> {
        self.blank()?;
        for line in self.wrap(sentence, 0) {
            let line = self.paint(Tone::Strong, &line);
            self.raw(&line)?;
        }
        Ok(())
    }

    /// A paragraph at an indent.
    pub(super) fn text(&mut self, indent: usize, text: &str) -> io::Result<()> {
        for line in self.wrap(text, indent) {
            self.raw(&format!("{:indent$}{line}", ""))?;
        }
        Ok(())
    }

    /// A paragraph whose label stands in the margin, in a tone.
    pub(super) fn labelled(
        &mut self,
        indent: usize,
        tone: Tone,
        label: &str,
        text: &str,
    ) -> io::Result<()> {
        self.hanging(indent, LABEL, tone, label, text)
    }

    /// A paragraph with its number in the margin.
    pub(super) fn numbered(&mut self, number: usize, text: &str) -> io::Result<()> {
        self.hanging(0, 4, Tone::Quiet, &format!("{number}."), text)
    }

    fn hanging(
        &mut self,
        indent: usize,
        width: usize,
        tone: Tone,
        label: &str,
        text: &str,
    ) -> io::Result<()> {
        let gap = width.saturating_sub(textwrap::core::display_width(label));
        let mut margin = format!("{:indent$}{}{:gap$}", "", self.paint(tone, label), "");
        for line in self.wrap(text, indent + width) {
            self.raw(&format!("{margin}{line}"))?;
            margin = " ".repeat(indent + width);
        }
        Ok(())
    }

    /// Wraps to the page; a word that is longer than a line is broken rather than let stick out.
    fn wrap(&self, text: &str, indent: usize) -> Vec<String> {
        let width = self.width.saturating_sub(indent).max(20);
        // Names keep their hyphens: a member W-SP must not be read as W and SP.
        let options = textwrap::Options::new(width)
            .word_separator(textwrap::WordSeparator::AsciiSpace)
            .word_splitter(textwrap::WordSplitter::NoHyphenation);
        textwrap::wrap(text, options).into_iter().map(std::borrow::Cow::into_owned).collect()
    }

    fn cut_to(&self, text: &str, width: usize) -> String {
        let mut lines = textwrap::wrap(text, width.max(1)).into_iter();
        let first = lines.next().unwrap_or_default();
        if lines.next().is_some() { format!("{first} …") } else { first.into_owned() }
    }
}
