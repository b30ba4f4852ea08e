//! What is wrong with a text: single problems, and a text rejected for them.

use std::cell::RefCell;
use std::fmt;
use std::ops::Range;

use annotate_snippets::{
    AnnotationKind, Group, Level, Origin, Renderer, Snippet, normalize_untrusted_str,
};

use crate::lines::SourceText;

/// One mistake: where, what, what was expected there, and what to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    place: Option<Range<usize>>,
    what: String,
    expected: String,
    remedy: Option<String>,
    other: Option<Box<(Range<usize>, String)>>,
}

impl Problem {
    /// A mistake at these bytes of the text.
    #[must_use]
    pub fn at(place: Range<usize>, what: impl Into<String>) -> Self {
        Self {
            place: Some(place),
            ..Self::in_general(what)
        }
    }

    /// A mistake of the text as a whole.
    #[must_use]
    pub fn in_general(what: impl Into<String>) -> Self {
        Self {
            place: None,
            what: what.into(),
            expected: String::new(),
            remedy: None,
            other: None,
        }
    }

    /// What belongs at the place; shown beside the underlined text.
    #[must_use]
    pub fn expected(mut self, expected: impl Into<String>) -> Self {
        self.expected = expected.into();
        self
    }

    /// What the person can do.
    #[must_use]
    pub fn remedy(mut self, remedy: impl Into<String>) -> Self {
        self.remedy = Some(remedy.into());
        self
    }

    /// Another place that the mistake has to do with.
    #[must_use]
    pub fn because_of(mut self, place: Range<usize>, label: impl Into<String>) -> Self {
        self.other = Some(Box::new((place, label.into())));
        self
    }

    /// What is wrong, in words.
    #[must_use]
    pub fn what(&self) -> &str {
        &self.what
    }

    /// The bytes that it is about, unless it is about the text as a whole.
    #[must_use]
    pub fn place(&self) -> Option<Range<usize>> {
        self.place.clone()
    }

    fn group<'a>(&'a self, source: &'a SourceText) -> Group<'a> {
        let title = Level::ERROR.primary_title(normalize_untrusted_str(&self.what));
        let mut group = match &self.place {
            Some(place) if !source.text().is_empty() => title.element(marked(
                source,
                place,
                &self.expected,
                AnnotationKind::Primary,
            )),
            Some(_) => title.element(
                Origin::path(source.name())
                    .line(source.line_at(0))
                    .char_column(1),
            ),
            None => title.element(Origin::path(source.name())),
        };
        if let Some((place, label)) = self.other.as_deref() {
            group = group.element(marked(source, place, label, AnnotationKind::Context));
        }
        if let Some(remedy) = &self.remedy {
            group = group.element(Level::HELP.message(normalize_untrusted_str(remedy)));
        }
        group
    }
}

fn marked<'a>(
    source: &'a SourceText,
    place: &Range<usize>,
    label: &str,
    kind: AnnotationKind,
) -> Snippet<'a, annotate_snippets::Annotation<'a>> {
    let (number, line, within) = source.first_line_of(place);
    let annotation = kind.span(within);
    Snippet::source(&source.text()[line])
        .line_start(number)
        .path(source.name())
        .annotation(if label.is_empty() {
            annotation
        } else {
            annotation.label(normalize_untrusted_str(label))
        })
}

/// Why a text is not the value that was wanted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Misread {
    /// What is wrong with the text.
    pub what: String,
    /// What a right one looks like.
    pub expected: String,
    /// What to write instead, when that can be told.
    pub remedy: Option<String>,
}

/// What has been found wrong so far, while the rest is still being read.
#[derive(Debug, Default)]
pub struct Problems(RefCell<Vec<Problem>>);

impl Problems {
    /// A text with this many problems is not worth a longer look.
    const LIMIT: usize = 200;

    /// Notes one more, once; beyond the limit it is forgotten.
    pub fn add(&self, problem: Problem) {
        if !self.is_full() && !self.0.borrow().contains(&problem) {
            self.0.borrow_mut().push(problem);
        }
    }

    /// Whether there are so many that looking for more is pointless.
    #[must_use]
    pub fn is_full(&self) -> bool {
        self.0.borrow().len() >= Self::LIMIT
    }

    /// Whether nothing was found wrong yet.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.borrow().is_empty()
    }

    /// All of them, in the order of their places.
    #[must_use]
    pub fn into_sorted(self) -> Vec<Problem> {
        let mut problems = self.0.into_inner();
        problems.sort_by_key(|problem| problem.place.as_ref().map_or(0, |place| place.start));
        problems
    }
}

/// A text that cannot be used, with every reason that was found.
///
/// Shows itself plainly; [`Rejected::styled`] is for a terminal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rejected {
    source: SourceText,
    problems: Vec<Problem>,
}

impl Rejected {
    /// More than this many at once help nobody.
    const SHOWN: usize = 20;

    /// This text, with what was found wrong with it.
    pub(crate) const fn with(source: SourceText, problems: Vec<Problem>) -> Self {
        Self { source, problems }
    }

    /// What was found, in the order of the places.
    #[must_use]
    pub fn problems(&self) -> &[Problem] {
        &self.problems
    }

    /// The same for a screen that has ASCII only; `written` puts words into its signs.
    ///
    /// In the text each other sign becomes a question mark, so that places stay where they are.
    #[must_use]
    pub fn in_ascii(&self, written: impl Fn(&str) -> String) -> Self {
        let moved = |place: &Range<usize>| {
            let [start, end] = [place.start, place.end].map(|at| self.source.signs_before(at));
            start..end
        };
        let problems = self.problems.iter().map(|problem| Problem {
            place: problem.place.as_ref().map(&moved),
            what: written(&problem.what),
            expected: written(&problem.expected),
            remedy: problem.remedy.as_deref().map(&written),
            other: problem
                .other
                .as_ref()
                .map(|other| Box::new((moved(&other.0), written(&other.1)))),
        });
        Self::with(self.source.in_ascii(&written), problems.collect())
    }

    /// With terminal colours; print it through `anstream`, which takes them out where they don't belong.
    #[must_use]
    pub fn styled(&self) -> String {
        self.rendered_by(&Renderer::styled())
    }

    fn rendered_by(&self, renderer: &Renderer) -> String {
        let mut shown: Vec<String> = self
            .problems
            .iter()
            .take(Self::SHOWN)
            .map(|problem| renderer.render(&[problem.group(&self.source)]))
            .collect();
        if self.problems.len() > Self::SHOWN {
            let title = format!("more problems follow; mend these {} first", Self::SHOWN);
            shown.push(renderer.render(&[Group::with_title(Level::NOTE.primary_title(title))]));
        }
        shown.join("\n\n")
    }
}

impl fmt::Display for Rejected {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.rendered_by(&Renderer::plain()))
    }
}

impl std::error::Error for Rejected {}
