//! Plain questions at a prompt: one line each, asked again until the answer can be read.

use super::said::{Said, SaidCut};
use crate::commands::limits::table::wrapped;
use anyhow::{Result, bail};
use std::io::{BufRead, Write};

/// Whoever answers, and where the questions go.
pub(super) struct Asker<'a> {
    input: &'a mut dyn BufRead,
    out: &'a mut dyn Write,
    /// Columns of the terminal, if it is one: a telephone has few, and breaks words in two.
    width: usize,
}

/// An answer longer than this is no answer.
const LONGEST: usize = 400;

impl<'a> Asker<'a> {
    pub(super) fn new(
        input: &'a mut dyn BufRead,
        out: &'a mut dyn Write,
        width: Option<usize>,
    ) -> Self {
        Self { input, out, width: width.unwrap_or(usize::MAX) }
    }

    pub(super) fn say(&mut self, line: &str) -> Result<()> {
        for part in wrapped(line, self.width) {
            writeln!(self.out, "{part}")?;
        }
        Ok(())
    }

    pub(super) fn blank(&mut self) -> Result<()> {
        self.say("")
    }

    /// The size and the span.
    pub(super) fn joist(&mut self, said: &mut Said) -> Result<()> {
        self.say("One joist. Measure the wood itself; figures in mm, or in feet and inches.")?;
        self.until("Breadth x depth (47 x 220, 2x10)", |text| said.size(text))?;
        self.until("Clear span, face to face of the bearings (3.6 m)", |text| said.span(text))
    }

    /// What passes and where; false if there is nothing more. The `first` has to be said.
    pub(super) fn cut(&mut self, said: &mut Said, cut: &mut SaidCut, first: bool) -> Result<bool> {
        let question = if first {
            "What goes through (22 mm copper, 40 mm waste), or is cut already (hole 48)"
        } else {
            "What else goes through or is cut (Enter: nothing more)"
        };
        let mut done = false;
        self.ask(question, |text| match text {
            None => {
                done = true;
                Ok(())
            }
            Some("") if first => Err("say what goes through".to_owned()),
            Some("") => {
                done = true;
                Ok(())
            }
            Some(text) => said.through(cut, text),
        })?;
        if done {
            return Ok(false);
        }
        let there = cut.pipe().is_none();
        let question = if there {
            "How far from a bearing face to its middle (900, or 900 right)"
        } else {
            "How far from a bearing face to its middle (1170, or 900 right; Enter: say where it may go)"
        };
        self.until(question, |text| match text {
            "" if there => Err("say where it is".to_owned()),
            "" => Ok(()),
            text => said.place(cut, text),
        })?;
        let question = if cut.is_plan() {
            None
        } else if there {
            Some(
                "How high is its middle above the underside (Enter: mid-depth, or a notch in the top)",
            )
        } else {
            Some("How high is its middle above the underside (Enter: mid-depth; top: in a notch)")
        };
        if let Some(question) = question {
            self.until(question, |text| said.level(cut, text))?;
        }
        Ok(true)
    }

    /// What makes a joist special.
    pub(super) fn held(&mut self, said: &mut Said) -> Result<()> {
        self.until("Hung, double, a trimmer, or under a tank or a wall (Enter: none)", |text| {
            said.held(text)
        })
    }

    /// Where to keep the sheet; nothing at the end of the input.
    pub(super) fn file(&mut self) -> Result<Option<String>> {
        let mut path = None;
        self.ask("Keep this as a sheet (name.toml; Enter: no)", |text| {
            path = text.filter(|text| !text.is_empty()).map(str::to_owned);
            match &path {
                Some(name) if !name.to_lowercase().ends_with(".toml") => {
                    Err("the name has to end in .toml".to_owned())
                }
                _ => Ok(()),
            }
        })?;
        Ok(path)
    }

    /// Asks until there is an answer.
    fn until(
        &mut self,
        question: &str,
        mut take: impl FnMut(&str) -> Result<(), String>,
    ) -> Result<()> {
        let mut ended = false;
        self.ask(question, |text| match text {
            Some(text) => take(text),
            None => {
                ended = true;
                Ok(())
            }
        })?;
        if ended {
            bail!("the answers ended before all was said ({question}?)");
        }
        Ok(())
    }

    /// Asks until the answer is taken; `None` is the end of the input.
    fn ask(
        &mut self,
        question: &str,
        mut take: impl FnMut(Option<&str>) -> Result<(), String>,
    ) -> Result<()> {
        loop {
            let question = wrapped(&format!("{question}?"), self.width.saturating_sub(1));
            write!(self.out, "{} ", question.join("\n"))?;
            self.out.flush()?;
            let mut line = String::new();
            let read = self.input.read_line(&mut line)?;
            let answer = (read > 0).then(|| line.trim());
            if answer.is_some_and(|answer| answer.len() > LONGEST) {
                writeln!(self.out, "  that is too long")?;
                continue;
            }
            match take(answer) {
                Ok(()) => return Ok(()),
                Err(why) => writeln!(self.out, "  {why}")?,
            }
        }
    }
}
