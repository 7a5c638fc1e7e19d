//! What a letter is made of, and the same blocks as HTML and as plain text.

use maud::{DOCTYPE, Markup, PreEscaped, html};
use textwrap::{Options, WordSplitter};
use trade::words::said::{Money, one_line};

/// A piece of a sentence.
#[derive(Debug, Clone)]
pub(super) enum Piece {
    /// Our words.
    Said(String),
    /// Ours, to be seen first.
    Strong(String),
    /// Somebody's name or words: kept apart, since it may run from right to left.
    Typed(String),
}

/// A sentence or several.
pub(super) type Words = Vec<Piece>;

pub(super) fn said(words: impl Into<String>) -> Piece {
    Piece::Said(words.into())
}

pub(super) fn strong(words: impl Into<String>) -> Piece {
    Piece::Strong(words.into())
}

pub(super) fn typed(words: &str) -> Piece {
    Piece::Typed(one_line(words))
}

/// One row of a bill.
#[derive(Debug, Clone)]
pub(super) struct Row {
    pub(super) label: String,
    pub(super) amount: Money,
    /// What is said where it costs nothing; none: the amount, also of zero.
    pub(super) if_free: Option<&'static str>,
    pub(super) is_sum: bool,
    pub(super) remark: Option<&'static str>,
}

impl Row {
    /// `included`, where a figure of zero would be read as a fault.
    fn free(&self) -> Option<&'static str> {
        self.if_free.filter(|_| self.amount.amount.is_zero())
    }
}

/// One thing of a list, with a sentence about it.
#[derive(Debug, Clone)]
pub(super) struct Item {
    /// Its number on the order, where it has one.
    pub(super) number: Option<u32>,
    pub(super) head: String,
    pub(super) tail: Option<String>,
}

#[derive(Debug, Clone)]
pub(super) enum Block {
    /// A paragraph.
    Para(Words),
    /// A small heading.
    Heading(&'static str),
    /// What somebody wrote, line by line, set apart.
    Own(String),
    /// A label and what it says, one under the other.
    Facts(Vec<(&'static str, Words)>),
    /// A list.
    List(Vec<Item>),
    /// A bill.
    Bill(Vec<Row>),
    /// The one button: what it does, the sentence before the address in plain text, and the
    /// address.
    Button { words: String, before: String, url: String },
}

/// What stands around the blocks.
pub(super) struct Sheet<'a> {
    pub(super) shop: &'a str,
    pub(super) claim_number: &'a str,
    pub(super) subject: &'a str,
    pub(super) greeting: Words,
    pub(super) blocks: Vec<Block>,
    pub(super) signature: Vec<String>,
    pub(super) why_you_get_this: &'static str,
    /// The words of the link, and its address.
    pub(super) wish: Option<(&'static str, &'a str)>,
}

/// Columns of plain text: what a narrow mail program shows without breaking.
pub(super) const COLUMNS: usize = 56;
/// Columns of a bill, set in by two.
const BILL: usize = 46;

pub(super) fn text(sheet: &Sheet<'_>) -> String {
    let mut out = Text::default();
    out.para(&plain(&sheet.greeting));
    for block in &sheet.blocks {
        match block {
            Block::Para(words) => out.para(&plain(words)),
            Block::Heading(words) => {
                out.gap();
                out.line(words);
                out.line(&"-".repeat(words.chars().count()));
                out.tight = true;
            }
            Block::Own(words) => {
                out.gap();
                for line in lines(words) {
                    out.wrapped(&line, "  ", "  ");
                }
            }
            Block::Facts(facts) => {
                out.gap();
                for (label, words) in facts {
                    out.line(&format!("{label}:"));
                    out.wrapped(&plain(words), "  ", "  ");
                }
            }
            Block::List(items) => {
                out.gap();
                for Item { number, head, tail } in items {
                    let mark = number.map_or_else(|| "- ".to_owned(), |n| format!("{n} · "));
                    let words = match tail {
                        Some(tail) => format!("{}. {tail}", head.trim_end_matches('.')),
                        None => head.clone(),
                    };
                    out.wrapped(&words, &mark, &" ".repeat(mark.chars().count()));
                }
            }
            Block::Bill(rows) => {
                out.gap();
                for row in rows {
                    out.row(row);
                }
            }
            Block::Button { before, url, .. } => {
                out.gap();
                out.wrapped(before, "", "");
                out.line(url);
            }
        }
    }
    out.gap();
    for line in &sheet.signature {
        out.wrapped(line, "", "");
    }
    out.gap();
    // The mark of a signature (RFC 3676, 4.3) ends in a space that some programs look for.
    out.line("-- ");
    out.wrapped(sheet.why_you_get_this, "", "");
    if let Some((words, url)) = sheet.wish {
        out.wrapped(&format!("{words}:"), "", "");
        out.line(url);
    }
    out.done
}

#[derive(Default)]
struct Text {
    done: String,
    /// The next block follows without an empty line.
    tight: bool,
}

impl Text {
    fn line(&mut self, words: &str) {
        self.done.push_str(words);
        self.done.push('\n');
    }

    fn gap(&mut self) {
        if !std::mem::take(&mut self.tight) && !self.done.is_empty() {
            self.done.push('\n');
        }
    }

    fn para(&mut self, words: &str) {
        self.gap();
        self.wrapped(words, "", "");
    }

    fn wrapped(&mut self, words: &str, first: &str, then: &str) {
        for line in wrap(words, COLUMNS, first, then) {
            self.line(&line);
        }
    }

    fn row(&mut self, row: &Row) {
        if row.is_sum {
            self.line(&format!("  {}", "-".repeat(BILL)));
        }
        let amount = row.free().map_or_else(|| row.amount.in_column(), ToOwned::to_owned);
        let label = match row.remark {
            Some(remark) => format!("{} ({remark})", row.label),
            None => row.label.clone(),
        };
        let room = BILL.saturating_sub(amount.len() + 2).max(16);
        let mut lines = wrap(&label, room, "", "  ");
        let last = lines.pop().unwrap_or_default();
        for line in lines {
            self.line(&format!("  {line}"));
        }
        let space = BILL.saturating_sub(textwrap::core::display_width(&last) + amount.len());
        self.line(&format!("  {last}{}{amount}", " ".repeat(space.max(1))));
    }
}

fn wrap(words: &str, columns: usize, first: &str, then: &str) -> Vec<String> {
    let options = Options::new(columns)
        .initial_indent(first)
        .subsequent_indent(then)
        .word_splitter(WordSplitter::NoHyphenation);
    // A space that must not be broken is an ordinary column once the lines stand.
    textwrap::wrap(words, options).into_iter().map(|line| line.trim_end().replace('\u{a0}', " ")).collect()
}

fn plain(words: &Words) -> String {
    let mut all = String::new();
    for piece in words {
        match piece {
            Piece::Said(words) | Piece::Strong(words) | Piece::Typed(words) => all.push_str(words),
        }
    }
    all
}

/// The lines that somebody wrote, without control characters, at most one of them empty in a
/// row, and none at the ends.
fn lines(words: &str) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for line in words.lines().map(one_line) {
        if !line.is_empty() || lines.last().is_some_and(|last| !last.is_empty()) {
            lines.push(line);
        }
    }
    while lines.last().is_some_and(String::is_empty) {
        lines.pop();
    }
    lines
}

/// For programs that read it: the dark values of the look's tokens. Written once here, since
/// a mail has no sheet of its own; what a program does not read is right without it.
const DARK: &str = "@media (prefers-color-scheme:dark){\
body,.paper{background:#17241f!important;color:#e9f1ec!important}\
.quiet{color:#a9bab1!important}.rule{border-color:#3b4d45!important}\
.heavy{border-color:#e9f1ec!important}.own{border-color:#7f938a!important}\
.paper a{color:#9cc4f5!important}.paper a.button{color:#e9f1ec!important;\
background:#12302a!important;border-color:#6fa58e!important}}\
@media print{.button{display:none!important}}";

pub(super) fn html(sheet: &Sheet<'_>) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta name="supported-color-schemes" content="light dark";
                // Keeps programs from making links of dates and sums.
                meta name="format-detection" content="telephone=no,date=no,address=no";
                title { (sheet.subject) }
                style { (PreEscaped(DARK)) }
            }
            body style="margin:0;padding:0;background:#fafcfb;color:#14201b" {
                div.paper style="max-width:560px;margin:0 auto;background:#fafcfb;color:#14201b;font-family:'Segoe UI',Helvetica,Arial,sans-serif;font-size:16px;line-height:24px;word-break:break-word;overflow-wrap:anywhere" {
                    table role="presentation" width="100%" cellpadding="0" cellspacing="0" style="border-bottom:3px solid #c8a348" {
                        tr {
                            td style="padding:14px 0 14px 20px;font-weight:bold" { bdi { (sheet.shop) } }
                            td align="right" style="padding:14px 20px 14px 12px;font-weight:bold;white-space:nowrap" { (sheet.claim_number) }
                        }
                    }
                    div style="padding:6px 20px 20px" {
                        p style=(PARA) { (marked(&sheet.greeting)) }
                        @for block in &sheet.blocks { (block_html(block)) }
                        p style=(PARA) {
                            @for (place, line) in sheet.signature.iter().enumerate() {
                                @if place > 0 { br; }
                                bdi { (line) }
                            }
                        }
                        p.quiet.rule style="font-size:13px;line-height:19px;color:#43534b;border-top:1px solid #a5b3ac;padding-top:10px;margin:20px 0 0" {
                            (sheet.why_you_get_this)
                            @if let Some((words, url)) = sheet.wish {
                                " " a href=(url) style="color:#174a85" { (words) }
                            }
                        }
                    }
                }
            }
        }
    };
    page.into_string()
}

const PARA: &str = "margin:12px 0";

fn marked(words: &Words) -> Markup {
    html! {
        @for piece in words {
            @match piece {
                Piece::Said(words) => (words),
                Piece::Strong(words) => b { (words) },
                Piece::Typed(words) => bdi { (words) },
            }
        }
    }
}

fn block_html(block: &Block) -> Markup {
    match block {
        Block::Para(words) => html! { p style=(PARA) { (marked(words)) } },
        Block::Heading(words) => html! {
            h2 style="font-size:17px;line-height:22px;margin:22px 0 6px" { (words) }
        },
        Block::Own(words) => html! {
            p.own dir="auto" style="margin:12px 0;padding:2px 14px;border-left:3px solid #5c6d65" {
                @for (place, line) in lines(words).iter().enumerate() {
                    @if place > 0 { br; }
                    (line)
                }
            }
        },
        Block::Facts(facts) => html! {
            @for (label, words) in facts {
                p style="margin:10px 0" {
                    span.quiet style="color:#43534b;font-size:14px;line-height:18px" { (label) }
                    br;
                    (marked(words))
                }
            }
        },
        Block::List(items) => html! {
            @let numbered = items.iter().any(|item| item.number.is_some());
            ul style=(if numbered { "margin:8px 0;padding:0;list-style:none" } else { "margin:8px 0;padding-left:20px" }) {
                @for Item { number, head, tail } in items {
                    li style="margin:6px 0" {
                        @if let Some(number) = number { b { (number) " · " } }
                        @match tail {
                            Some(tail) => { b { bdi { (head) } } br; bdi { (tail) } }
                            None => bdi { (head) },
                        }
                    }
                }
            }
        },
        Block::Bill(rows) => html! {
            table width="100%" cellpadding="0" cellspacing="0" style="border-collapse:collapse;margin:10px 0" {
                @for row in rows {
                    @if row.is_sum {
                        tr {
                            td.heavy style="padding:7px 0;border-top:2px solid #14201b;font-weight:bold;font-size:18px" { (row.label) }
                            td.heavy align="right" style="padding:7px 0 7px 14px;border-top:2px solid #14201b;font-weight:bold;font-size:18px;white-space:nowrap" {
                                @match row.free() { Some(words) => (words), None => (row.amount.said()) }
                            }
                        }
                    } @else {
                        tr {
                            td.rule valign="top" style="padding:5px 0;border-bottom:1px solid #a5b3ac" {
                                bdi { (row.label) }
                                @if let Some(remark) = row.remark {
                                    br;
                                    span.quiet style="color:#43534b;font-size:14px;line-height:18px" { (remark) }
                                }
                            }
                            td.rule valign="top" align="right" style="padding:5px 0 5px 14px;border-bottom:1px solid #a5b3ac;white-space:nowrap" {
                                @match row.free() { Some(words) => (words), None => (row.amount.said()) }
                            }
                        }
                    }
                }
            }
        },
        Block::Button { words, url, .. } => html! {
            p style="margin:18px 0" {
                a.button href=(url) style="background:#1d4236;color:#f0f6f2;border:1px solid #1d4236;padding:13px 20px;text-decoration:none;font-weight:bold;display:inline-block" { (words) }
            }
        },
    }
}
