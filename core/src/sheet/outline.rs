//! Markdown to an outline: a title, lines, and blocks of lines and list items. Every stretch of
//! text remembers where in the sheet it came from, so that problems point at what was typed even
//! where Markdown took out backslashes, stars or entities.

use core::ops::Range;

use pulldown_cmark::{Event, HeadingLevel, Options, Parser, Tag, TagEnd};

use super::problem::Problems;

/// Lists in lists that are read: movements, and what belongs to a movement.
const DEPTH_MAX: usize = 2;

/// A sheet without its Markdown.
#[derive(Default)]
pub(super) struct Outline {
    /// The first-level heading.
    pub(super) title: Option<Line>,
    /// What stands between it and the first block.
    pub(super) intro: Vec<Paragraph>,
    /// The second-level headings with what stands under them.
    pub(super) blocks: Vec<Section>,
}

/// One block: its heading and what stands under it.
pub(super) struct Section {
    pub(super) heading: Line,
    pub(super) paragraphs: Vec<Paragraph>,
    pub(super) items: Vec<Item>,
}

/// Lines that belong together; never empty.
pub(super) type Paragraph = Vec<Line>;

/// One list item with the items inside it.
pub(super) struct Item {
    pub(super) line: Line,
    pub(super) nested: Vec<Item>,
}

/// One line of text, and where its parts stand in the sheet.
#[derive(Default)]
pub(super) struct Line {
    pub(super) text: String,
    parts: Vec<Part>,
}

struct Part {
    /// Where the part begins in the line's text.
    start: usize,
    /// Where it stands in the sheet.
    source: Range<usize>,
}

impl Line {
    /// An empty line that begins at byte `at` of the sheet.
    fn at(at: usize) -> Self {
        Self { text: String::new(), parts: vec![Part { start: 0, source: at..at }] }
    }

    fn push(&mut self, text: &str, source: Range<usize>) {
        self.parts.push(Part { start: self.text.len(), source });
        self.text.push_str(text);
    }

    /// Where bytes `at` of the line stand in the sheet.
    pub(super) fn source(&self, at: Range<usize>) -> Range<usize> {
        let find = |at: usize, end: bool| {
            let after = self
                .parts
                .partition_point(|part| if end { part.start < at } else { part.start <= at });
            let Some(part) = self.parts.get(after.saturating_sub(1)) else { return 0 };
            (part.source.start + (at - part.start)).min(part.source.end)
        };
        find(at.start, false)..find(at.end, true)
    }

    /// Where the whole line stands in the sheet.
    pub(super) fn whole(&self) -> Range<usize> {
        self.source(0..self.text.len())
    }
}

/// Reads the Markdown of `text`.
pub(super) fn outline(text: &str, problems: &mut Problems<'_>) -> Outline {
    // A byte-order mark is no part of the title.
    let skipped = if text.starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { 0 };
    let mut walk =
        Walk { problems, outline: Outline::default(), open: Open::None, items: vec![], depth: 0 };
    let parser = Parser::new_ext(&text[skipped..], Options::empty()).into_offset_iter();
    for (event, at) in parser {
        walk.event(event, at.start + skipped..at.end + skipped);
    }
    walk.outline
}

/// Where text goes at the moment.
enum Open {
    /// Nowhere: between blocks of Markdown, or inside a list that is nested too deep.
    None,
    Title(Line),
    Heading(Line),
    Paragraph(Paragraph),
    /// To the last of the open items.
    Item,
}

struct Walk<'p, 'a> {
    problems: &'p mut Problems<'a>,
    outline: Outline,
    open: Open,
    items: Vec<Item>,
    depth: usize,
}

impl Walk<'_, '_> {
    fn event(&mut self, event: Event<'_>, at: Range<usize>) {
        match event {
            Event::Start(tag) => self.start(&tag, at),
            Event::End(tag) => self.end(tag),
            Event::Text(text) | Event::Code(text) | Event::Html(text) | Event::InlineHtml(text) => {
                self.text(&text, &at);
            }
            Event::SoftBreak | Event::HardBreak => self.line_break(at),
            _ => {}
        }
    }

    fn start(&mut self, tag: &Tag<'_>, at: Range<usize>) {
        match tag {
            Tag::Heading { level, .. } if self.items.is_empty() => {
                self.open = match level {
                    HeadingLevel::H1 => Open::Title(Line::at(at.start)),
                    HeadingLevel::H2 => Open::Heading(Line::at(at.start)),
                    _ => Open::Paragraph(vec![Line::default()]),
                };
            }
            Tag::Paragraph | Tag::Heading { .. } | Tag::CodeBlock(_) | Tag::HtmlBlock => {
                self.start_text(&at);
            }
            Tag::List(_) => {
                self.depth += 1;
                if self.depth == DEPTH_MAX + 1 {
                    let message = "lists are read two deep: movements, and what belongs to one";
                    self.problems.error(at, message, "move this line one step to the left");
                }
                self.open = Open::None;
            }
            Tag::Item if self.depth <= DEPTH_MAX => {
                self.items.push(Item { line: Line::at(at.start), nested: Vec::new() });
                self.open = Open::Item;
            }
            _ => {}
        }
    }

    /// Text begins that is neither a heading nor the first of its item.
    fn start_text(&mut self, at: &Range<usize>) {
        match self.items.last() {
            None => self.open = Open::Paragraph(vec![Line::default()]),
            Some(_) if self.depth > DEPTH_MAX => {}
            Some(item) if item.line.text.is_empty() && item.nested.is_empty() => {
                self.open = Open::Item;
            }
            // A second paragraph of an item is one more thing that belongs to the movement.
            Some(_) => {
                self.items.push(Item { line: Line::at(at.start), nested: Vec::new() });
                self.open = Open::Item;
            }
        }
    }

    fn end(&mut self, tag: TagEnd) {
        match tag {
            TagEnd::Heading(_) | TagEnd::Paragraph | TagEnd::CodeBlock | TagEnd::HtmlBlock => {
                match core::mem::replace(&mut self.open, Open::None) {
                    Open::Title(line) => self.title(line),
                    Open::Heading(heading) => {
                        let section = Section { heading, paragraphs: vec![], items: vec![] };
                        self.outline.blocks.push(section);
                    }
                    Open::Paragraph(lines) => self.paragraph(lines),
                    Open::Item if self.items.len() > self.depth => self.close_item(),
                    Open::Item | Open::None => {}
                }
            }
            TagEnd::Item if self.depth <= DEPTH_MAX => self.close_item(),
            TagEnd::List(_) => {
                self.depth -= 1;
                self.open = Open::None;
            }
            _ => {}
        }
    }

    fn close_item(&mut self) {
        self.open = Open::None;
        let Some(item) = self.items.pop() else { return };
        if let Some(outer) = self.items.last_mut() {
            outer.nested.push(item);
        } else if let Some(block) = self.outline.blocks.last_mut() {
            block.items.push(item);
        } else {
            let lines = core::iter::once(item.line).chain(item.nested.into_iter().map(|i| i.line));
            self.paragraph(lines.collect());
        }
    }

    fn title(&mut self, line: Line) {
        if self.outline.title.is_some() || !self.outline.blocks.is_empty() {
            let message = "a sheet has one title; blocks have two number signs";
            self.problems.error(line.whole(), message, "## Talk, 3 min");
        } else {
            self.outline.title = Some(line);
        }
    }

    fn paragraph(&mut self, mut lines: Paragraph) {
        lines.retain(|line| !line.text.trim().is_empty());
        if lines.is_empty() {
            return;
        }
        match self.outline.blocks.last_mut() {
            Some(block) => block.paragraphs.push(lines),
            None => self.outline.intro.push(lines),
        }
    }

    fn text(&mut self, text: &str, at: &Range<usize>) {
        // Code and HTML blocks come with their own line ends.
        for (index, piece) in text.split('\n').enumerate() {
            if index > 0 {
                self.line_break(at.clone());
            }
            if !piece.is_empty() {
                let offset = piece.as_ptr() as usize - text.as_ptr() as usize;
                let start = (at.start + offset).min(at.end);
                if let Some(line) = self.line() {
                    line.push(piece, start..at.end);
                }
            }
        }
    }

    fn line_break(&mut self, at: Range<usize>) {
        if let Open::Paragraph(lines) = &mut self.open {
            lines.push(Line::default());
        } else if let Some(line) = self.line() {
            line.push(" ", at);
        }
    }

    fn line(&mut self) -> Option<&mut Line> {
        match &mut self.open {
            Open::None => None,
            Open::Title(line) | Open::Heading(line) => Some(line),
            Open::Paragraph(lines) => lines.last_mut(),
            Open::Item => self.items.last_mut().map(|item| &mut item.line),
        }
    }
}
