//! A page as parts in reading order: what each looks like, and what it is to a reader that does not see.
//!
//! As SVG the parts are drawn one over the other. As PDF each is tagged with what it is (a heading, a
//! table's cell, a figure with words in its stead), in the same order, after PDF/UA-1 (ISO 14289-1).

use crate::convert::{About, ConvertError, tree};
use crate::drawing::escape;
use crate::fonts;
use crate::theme::Rgb;
use krilla::configure::{Accessibility, ConfigurationBuilder};
use krilla::destination::XyzDestination;
use krilla::error::KrillaError;
use krilla::geom::{Point, Size};
use krilla::metadata::Metadata;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::surface::Surface;
use krilla::tagging::{
    Artifact, ContentTag, Identifier, ListNumbering, SpanTag, TableHeaderScope, Tag, TagGroup, TagTree,
};
use krilla::{Document, SerializeSettings};
use krilla_svg::{SurfaceExt, SvgSettings};
use std::num::NonZeroU16;

/// One page.
#[derive(Clone, Debug)]
pub(crate) struct Page {
    /// Points, which are the SVG's own units.
    pub width: f64,
    /// Points.
    pub height: f64,
    /// Colour of the ground, where the parts have none of their own.
    pub ground: Option<Rgb>,
    /// Definitions that the parts use, as SVG.
    pub defs: String,
    /// Short name for screen readers.
    pub title: String,
    /// What the page says, in whole sentences, for screen readers.
    pub description: String,
    /// Everything on it, in reading order.
    pub parts: Vec<Part>,
}

/// Something on a page; `svg` is always a piece of SVG in the page's own units.
#[derive(Clone, Debug)]
pub(crate) enum Part {
    /// Lines and boxes: nothing to read.
    Ornament { svg: String },
    /// A heading.
    Heading { level: u16, words: String, svg: String },
    /// A paragraph.
    Text { svg: String },
    /// A picture, and what it says in words.
    Figure { said: String, svg: String },
    /// A list of points, each with its mark.
    List { items: Vec<Item> },
    /// A table, its first row the heads of the columns.
    Table { rows: Vec<Row> },
}

/// A point of a list.
#[derive(Clone, Debug, Default)]
pub(crate) struct Item {
    pub mark: String,
    /// What is read in the mark's stead, where the eye sees a sign.
    pub said: Option<&'static str>,
    pub body: String,
}

/// A row of a table.
#[derive(Clone, Debug, Default)]
pub(crate) struct Row {
    /// Lines and boxes of the row.
    pub ornament: String,
    pub cells: Vec<Cell>,
}

/// What a cell of a table is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Head {
    /// An ordinary cell.
    #[default]
    None,
    /// The head of a column.
    Column,
    /// The head of a row.
    Row,
}

/// A cell of a table.
#[derive(Clone, Debug, Default)]
pub(crate) struct Cell {
    pub head: Head,
    pub svg: String,
    /// What is read in its stead, where the eye sees a sign or nothing.
    pub said: Option<&'static str>,
}

impl Page {
    fn around(&self, head: &str, body: &str) -> String {
        let (width, height) = (self.width, self.height);
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" height=\"{height}\" \
             font-family=\"{}\"{head}{}{body}</svg>\n",
            fonts::FAMILIES,
            self.defs
        )
    }

    /// The ground, under everything.
    fn under(&self) -> String {
        self.ground.map_or_else(String::new, |g| {
            format!("<rect width=\"{}\" height=\"{}\" fill=\"{g}\"/>\n", self.width, self.height)
        })
    }

    /// The page as a whole document.
    pub fn svg(&self) -> String {
        let head = format!(
            " role=\"img\" aria-labelledby=\"page-title page-desc\">\n<title id=\"page-title\">{}</title>\n\
             <desc id=\"page-desc\">{}</desc>\n",
            escape(&self.title),
            escape(&self.description)
        );
        let mut body = self.under();
        for part in &self.parts {
            match part {
                Part::Ornament { svg } | Part::Heading { svg, .. } | Part::Text { svg } | Part::Figure { svg, .. } => {
                    body.push_str(svg);
                }
                Part::List { items } => items.iter().for_each(|i| {
                    body.push_str(&i.mark);
                    body.push_str(&i.body);
                }),
                Part::Table { rows } => rows.iter().for_each(|r| {
                    body.push_str(&r.ornament);
                    r.cells.iter().for_each(|c| body.push_str(&c.svg));
                }),
            }
        }
        self.around(&head, &body)
    }

    /// The page as a tagged PDF.
    ///
    /// # Errors
    /// [`ConvertError`] when a part is broken or the page cannot be written.
    pub fn pdf(&self, about: &About) -> Result<Vec<u8>, ConvertError> {
        // What cannot keep the standard is tagged all the same.
        match self.write(about, true) {
            Err(Written::Refused(_)) => self.write(about, false).map_err(Written::plain),
            other => other.map_err(Written::plain),
        }
    }

    fn write(&self, about: &About, accessible: bool) -> Result<Vec<u8>, Written> {
        let wrong = || Written::Failed(ConvertError::Size { width: self.width, height: self.height });
        let settings = PageSettings::from_wh(self.width as f32, self.height as f32).ok_or_else(wrong)?;
        let size = Size::from_wh(self.width as f32, self.height as f32).ok_or_else(wrong)?;
        let mut build = ConfigurationBuilder::new();
        if accessible {
            build = build.with_accessibility_validator(Accessibility::UA1);
        }
        let configuration = build.finish().map_err(|e| Written::Failed(ConvertError::Pdf(format!("{e:?}"))))?;
        let mut document = Document::new_with(SerializeSettings { configuration, ..SerializeSettings::default() });
        let mut page = document.start_page_with(settings);
        let mut surface = page.surface();
        let mut pen = Pen { page: self, surface: &mut surface, size };
        pen.ornament(&self.under())?;
        let mut tags = TagTree::new();
        let mut outline = Outline::new();
        for part in &self.parts {
            pen.part(part, &mut tags, &mut outline)?;
        }
        surface.finish();
        page.finish();
        document.set_tag_tree(tags);
        document.set_outline(outline);
        document.set_metadata(
            Metadata::new()
                .title(about.title.clone())
                .language(about.language.clone())
                .creator("Coatwright".to_owned())
                .document_id(about.title.clone()),
        );
        document.finish().map_err(|e| match e {
            KrillaError::Validation(_) => Written::Refused(format!("{e:?}")),
            e => Written::Failed(ConvertError::Pdf(format!("{e:?}"))),
        })
    }
}

/// Why a page was not written.
enum Written {
    /// It would not keep the standard.
    Refused(String),
    Failed(ConvertError),
}

impl Written {
    fn plain(self) -> ConvertError {
        match self {
            Written::Refused(why) => ConvertError::Pdf(why),
            Written::Failed(e) => e,
        }
    }
}

impl From<ConvertError> for Written {
    fn from(e: ConvertError) -> Self {
        Written::Failed(e)
    }
}

/// Draws parts onto the surface of a page and says what they are.
struct Pen<'p, 's> {
    page: &'p Page,
    surface: &'p mut Surface<'s>,
    size: Size,
}

impl Pen<'_, '_> {
    fn draw(&mut self, svg: &str) -> Result<(), ConvertError> {
        if !svg.is_empty() {
            let tree = tree(&self.page.around(">", &fonts::boxed(svg)))?;
            self.surface.draw_svg(&tree, self.size, SvgSettings { embed_text: true, filter_scale: 2.0 });
        }
        Ok(())
    }

    /// The words of a piece of SVG.
    fn text_of(&self, svg: &str) -> Result<String, ConvertError> {
        let whole = self.page.around(">", svg);
        let document = usvg::roxmltree::Document::parse(&whole).map_err(usvg::Error::ParsingFailed)?;
        let texts = document.descendants().filter(|n| n.has_tag_name(("http://www.w3.org/2000/svg", "text")));
        Ok(texts.filter_map(|n| n.text()).collect())
    }

    fn ornament(&mut self, svg: &str) -> Result<(), ConvertError> {
        if svg.is_empty() {
            return Ok(());
        }
        self.surface.start_tagged(ContentTag::Artifact(Artifact::default()));
        let drawn = self.draw(svg);
        self.surface.end_tagged();
        drawn
    }

    fn words(&mut self, svg: &str, said: Option<&str>) -> Result<Identifier, ConvertError> {
        // A box that stands for a letter copies out as the letter.
        let own = if said.is_none() && !fonts::missing(svg).is_empty() { self.text_of(svg)? } else { String::new() };
        let said = said.or((!own.is_empty()).then_some(own.as_str()));
        let id = self.surface.start_tagged(ContentTag::Span(SpanTag::empty().with_actual_text(said)));
        let drawn = self.draw(svg);
        self.surface.end_tagged();
        drawn.map(|()| id)
    }

    fn part(&mut self, part: &Part, tags: &mut TagTree, outline: &mut Outline) -> Result<(), ConvertError> {
        match part {
            Part::Ornament { svg } => self.ornament(svg)?,
            Part::Heading { level, words, svg } => {
                let level = NonZeroU16::new(*level).unwrap_or(NonZeroU16::MIN);
                let mut group = TagGroup::new(Tag::Hn(level, Some(words.clone())));
                group.push(self.words(svg, None)?);
                tags.push(group);
                outline.push_child(OutlineNode::new(words.clone(), XyzDestination::new(0, Point::from_xy(0.0, 0.0))));
            }
            Part::Text { svg } => {
                let mut group = TagGroup::new(Tag::P);
                group.push(self.words(svg, None)?);
                tags.push(group);
            }
            Part::Figure { said, svg } => {
                let mut group = TagGroup::new(Tag::Figure(Some(said.clone())));
                let id = self.surface.start_tagged(ContentTag::Other);
                let drawn = self.draw(svg);
                self.surface.end_tagged();
                drawn?;
                group.push(id);
                tags.push(group);
            }
            Part::List { items } => {
                let mut list = TagGroup::new(Tag::L(ListNumbering::None));
                for item in items {
                    let mut one = TagGroup::new(Tag::LI);
                    let mut mark = TagGroup::new(Tag::Lbl);
                    mark.push(self.words(&item.mark, item.said)?);
                    let mut body = TagGroup::new(Tag::LBody);
                    body.push(self.words(&item.body, None)?);
                    one.push(mark);
                    one.push(body);
                    list.push(one);
                }
                tags.push(list);
            }
            Part::Table { rows } => {
                let mut table = TagGroup::new(Tag::Table);
                for row in rows {
                    self.ornament(&row.ornament)?;
                    let mut group = TagGroup::new(Tag::TR);
                    for cell in &row.cells {
                        let mut inner = match cell.head {
                            Head::None => TagGroup::new(Tag::TD),
                            Head::Column => TagGroup::new(Tag::TH(TableHeaderScope::Column)),
                            Head::Row => TagGroup::new(Tag::TH(TableHeaderScope::Row)),
                        };
                        inner.push(self.words(&cell.svg, cell.said)?);
                        group.push(inner);
                    }
                    table.push(group);
                }
                tags.push(table);
            }
        }
        Ok(())
    }
}
