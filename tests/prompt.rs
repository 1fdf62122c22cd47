//! The prompt of `wimble sheet`, driven through a terminal as a person would: in millimetres and
//! in feet and inches, with slips of the finger.

#![cfg(unix)]

use rustix::fs::{Mode, OFlags};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use std::fs::File;
use std::io::{Read, Write};
use std::process::{Child, Command};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

/// Nothing takes as long as this; a prompt that never comes must not hold up the run.
const NEVER: Duration = Duration::from_secs(60);

/// A terminal with `wimble sheet` in it.
struct Terminal {
    keys: File,
    screen: Receiver<Vec<u8>>,
    shown: String,
    child: Child,
    /// Keystrokes so far, Enter counted.
    typed: usize,
}

impl Terminal {
    fn start(arguments: &[&str], folder: &std::path::Path) -> Self {
        let master = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).unwrap();
        grantpt(&master).unwrap();
        unlockpt(&master).unwrap();
        let name = ptsname(&master, Vec::new()).unwrap();
        let slave = || {
            let flags = OFlags::RDWR | OFlags::NOCTTY;
            File::from(rustix::fs::open(name.as_c_str(), flags, Mode::empty()).unwrap())
        };
        let mut command = Command::new(env!("CARGO_BIN_EXE_wimble"));
        command.arg("sheet").args(arguments).current_dir(folder);
        command.stdin(slave()).stdout(slave()).stderr(slave());
        let child = command.spawn().unwrap();
        drop(command);
        let keys = File::from(master);
        let mut reader = keys.try_clone().unwrap();
        let (send, screen) = channel();
        std::thread::spawn(move || {
            let mut part = [0; 4096];
            // A terminal whose program has ended gives an error, not an end.
            while let Ok(count @ 1..) = reader.read(&mut part) {
                if send.send(part[..count].to_vec()).is_err() {
                    break;
                }
            }
        });
        Self { keys, screen, shown: String::new(), child, typed: 0 }
    }

    /// Waits until a text stands after what was read before, and gives what stood before it.
    fn until(&mut self, text: &str) -> String {
        loop {
            if let Some(at) = self.shown.find(text) {
                let rest = self.shown.split_off(at + text.len());
                return std::mem::replace(&mut self.shown, rest);
            }
            match self.screen.recv_timeout(NEVER) {
                Ok(part) => self.shown.push_str(&String::from_utf8_lossy(&part)),
                Err(_) => panic!("`{text}` never came; on the screen: {}", self.shown),
            }
        }
    }

    /// Waits for a question that holds a text, and types an answer.
    fn answer(&mut self, question: &str, typed: &str) -> String {
        let mut before = self.until(question);
        before.push_str(&self.until("? "));
        self.typed += typed.chars().count() + 1;
        writeln!(self.keys, "{typed}").unwrap();
        before
    }

    /// The exit code and what was shown last.
    fn end(mut self) -> (Option<i32>, String) {
        let status = self.child.wait().unwrap();
        while let Ok(part) = self.screen.recv_timeout(NEVER) {
            self.shown.push_str(&String::from_utf8_lossy(&part));
        }
        (status.code(), self.shown)
    }
}

/// Lines of the answer: between the last question's echo and the next question.
fn lines(shown: &str) -> Vec<&str> {
    let lines = shown.lines().map(str::trim_end).skip_while(|line| !line.is_empty());
    lines.filter(|line| !line.is_empty()).collect()
}

#[test]
fn one_joist_in_millimetres_with_slips_of_the_finger() {
    let folder = tempfile::tempdir().unwrap();
    let mut terminal = Terminal::start(&[], folder.path());
    terminal.answer("Breadth x depth", "47 by 220");
    // What could not be read is said, and asked again.
    let said = terminal.answer("Breadth x depth", "47 x 220");
    assert!(said.contains("`by` is not a unit"), "{said}");
    terminal.answer("Clear span", "36");
    let said = terminal.answer("Clear span", "3.6 m");
    assert!(said.contains("a clear span of 36 mm?"), "{said}");
    terminal.answer("What goes through", "22 mm coper");
    let said = terminal.answer("What goes through", "22 mm copper");
    assert!(said.contains("did you mean `copper`?"), "{said}");
    terminal.answer("How far from a bearing face", "9000");
    let said = terminal.answer("How far from a bearing face", "1170");
    assert!(said.contains("further than the clear span"), "{said}");
    terminal.answer("How high", "");
    terminal.answer("Hung, double", "");
    let shown = terminal.until("What else");
    let answer = lines(&shown);
    assert!(answer[0].starts_with("CUT: 28 mm bit (needs 27 mm)"), "{answer:?}");
    assert!(answer[0].contains("middle 1170 mm from the left face"), "{answer:?}");
    assert!(answer.len() - 1 <= 6, "six lines at most: {answer:?}");
    // A second pipe, too near to the wall: the reason with a figure, and where it may go.
    terminal.answer("", "40 mm waste push-fit");
    terminal.answer("How far from a bearing face", "500 right");
    terminal.answer("How high", "");
    let shown = terminal.until("What else");
    let answer = lines(&shown);
    assert!(answer[0].starts_with("DO NOT CUT"), "{answer:?}");
    assert!(answer[1].contains("900"), "{answer:?}");
    assert!(answer[2].starts_with("It may go:"), "{answer:?}");
    assert!(answer.len() - 1 <= 6, "{answer:?}");
    terminal.answer("", "");
    terminal.answer("Keep this as a sheet", "joist");
    let said = terminal.answer("Keep this as a sheet", "joist.toml");
    assert!(said.contains("has to end in .toml"), "{said}");
    let (code, _) = terminal.end();
    assert_eq!(code, Some(1), "one of the two is not to be cut");
    let checked = Command::new(env!("CARGO_BIN_EXE_wimble"))
        .args(["check", "joist.toml", "--format", "json"])
        .current_dir(folder.path())
        .output()
        .unwrap();
    let report: serde_json::Value = serde_json::from_slice(&checked.stdout).unwrap();
    let verdicts: Vec<&str> =
        report["cuts"].as_array().unwrap().iter().map(|c| c["verdict"].as_str().unwrap()).collect();
    assert_eq!(verdicts, ["pass", "fail"]);
}

/// What `docs/sheet.md` says of the keystrokes to an answer is what it takes.
#[test]
fn an_answer_takes_as_many_keystrokes_as_the_documentation_says() {
    let folder = tempfile::tempdir().unwrap();
    let joist = |keys: &[(&str, &str)]| {
        let mut terminal = Terminal::start(&[], folder.path());
        for (question, typed) in
            [("Breadth x depth", "220"), ("Clear span", "3.6m"), ("What goes", "22 mm copper")]
                .iter()
                .chain(keys)
        {
            terminal.answer(question, typed);
        }
        let shown = terminal.until("What else");
        (terminal.typed, lines(&shown)[0].to_owned())
    };
    let (may, answer) = joist(&[("How far", ""), ("Hung", "")]);
    assert!(answer.starts_with("CUT a hole with a 28 mm bit: middle 914 to 1426"), "{answer}");
    let (here, answer) = joist(&[("How far", "1170"), ("How high", ""), ("Hung", "")]);
    assert!(answer.starts_with("CUT: 28 mm bit (needs 27 mm)"), "{answer}");
    let page = include_str!("../docs/sheet.md").replace('\n', " ");
    for (typed, what) in [(may, "where it may go"), (here, "whether it may go where it is wanted")]
    {
        let said = format!("{typed} keystrokes to an answer to {what}");
        assert!(page.contains(&said), "docs/sheet.md does not say: {said}");
        // Under a minute at one keystroke a second, even.
        assert!(typed < 60, "{typed}");
    }
}

#[test]
fn one_joist_in_feet_and_inches_that_only_asks_where() {
    let folder = tempfile::tempdir().unwrap();
    let mut terminal = Terminal::start(&["--region", "US"], folder.path());
    terminal.answer("Breadth x depth", "2x10");
    terminal.answer("Clear span", "12 f");
    let said = terminal.answer("Clear span", "12' 6");
    assert!(said.contains("`f` is not a unit"), "{said}");
    terminal.answer("What goes through", "1-1/2 in PVC");
    terminal.answer("How far from a bearing face", "");
    terminal.answer("Hung, double", "treble");
    let said = terminal.answer("Hung, double", "none");
    assert!(said.contains("`treble` is not known"), "{said}");
    let shown = terminal.until("What else");
    let answer = lines(&shown);
    assert!(
        answer[0].starts_with("CUT a hole with a 2-1/8 in bit: middle 1-1/16 in to"),
        "{answer:?}"
    );
    assert!(answer[0].contains("from either face, at mid-depth"), "{answer:?}");
    assert!(answer.iter().any(|line| line.contains("United States")), "{answer:?}");
    // A second place is asked for in inches, and one that is too low.
    terminal.answer("", "1/2 in EMT");
    terminal.answer("How far", "3 fet");
    let said = terminal.answer("How far", "36");
    assert!(said.contains("`fet` is not a unit"), "{said}");
    terminal.answer("How high", "1-1/2");
    let shown = terminal.until("What else");
    let answer = lines(&shown);
    assert!(answer[0].starts_with("DO NOT CUT"), "{answer:?}");
    assert!(answer[1].contains("leaves 1-1/8 in of wood"), "{answer:?}");
    assert!(answer[1].contains("at least 2 in"), "{answer:?}");
    // Nothing more, and nothing kept.
    terminal.answer("", "");
    terminal.answer("Keep this", "");
    let (code, _) = terminal.end();
    assert_eq!(code, Some(1), "one of the two is not to be cut");
}

#[test]
fn answers_that_end_early_are_no_answer() {
    let folder = tempfile::tempdir().unwrap();
    let mut terminal = Terminal::start(&[], folder.path());
    terminal.answer("Breadth x depth", "47 x 220");
    terminal.until("Clear span");
    terminal.until("? ");
    terminal.keys.write_all(&[4]).unwrap();
    let (code, shown) = terminal.end();
    assert_eq!(code, Some(2));
    assert!(shown.contains("the answers ended before all was said"), "{shown}");
}
