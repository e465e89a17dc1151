//! Pages of photos: taking one, all of a dog's, two beside each other.

use app::shop::POSES;
use maud::{Markup, html};

/// A photo in a list.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct PhotoView {
    /// Its id.
    pub(crate) id: String,
    /// Day.
    pub(crate) day: String,
    /// Pose.
    pub(crate) pose: String,
    /// Zone of a close view, as spoken.
    pub(crate) zone: Option<String>,
    /// Note.
    pub(crate) note: String,
    /// Pixels across and down.
    pub(crate) size: (u32, u32),
}

impl PhotoView {
    /// Where the whole picture is.
    pub(crate) fn at(&self) -> String {
        format!("/photos/{}", self.id)
    }

    /// Where the small picture is.
    pub(crate) fn small(&self) -> String {
        format!("/photos/{}/small", self.id)
    }

    /// What it shows.
    pub(crate) fn says(&self) -> String {
        match &self.zone {
            Some(zone) => format!("{zone}, close, {}", self.day),
            None => format!("{}, {}", self.pose, self.day),
        }
    }
}

/// Taking a picture.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct TakeView {
    /// The dog.
    pub(crate) dog: String,
    /// Its name.
    pub(crate) name: String,
    /// The visit that it belongs to.
    pub(crate) visit: Option<String>,
    /// The zone of a close view.
    pub(crate) zone: Option<String>,
    /// The pose that is chosen.
    pub(crate) pose: String,
    /// Zones: word, as spoken.
    pub(crate) zones: Vec<(String, String)>,
    /// The last picture of each pose: pose, address.
    pub(crate) ghosts: Vec<(String, String)>,
    /// What was wrong with the last try.
    pub(crate) fault: Option<String>,
    /// Owner's consent to photos is missing.
    pub(crate) unasked: bool,
}

/// The form to take or send a picture.
pub(crate) fn take(t: &TakeView) -> Markup {
    html! {
        h1 { "A picture of " (t.name) }
        @if t.unasked {
            p.caution { "The owner's consent to photos is not on record. Ask first, and note it under People." }
        }
        @if let Some(fault) = &t.fault { p.notice.bad role="alert" { (fault) } }
        form #take method="post" enctype="multipart/form-data" action=(format!("/dogs/{}/photos", t.dog)) {
            @if let Some(visit) = &t.visit { input type="hidden" name="visit" value=(visit); }
            fieldset.chips {
                legend { "Pose" }
                @for pose in POSES {
                    label.radio { input type="radio" name="pose" value=(pose) checked[pose == t.pose]; " " (pose) }
                }
            }
            label for="photo-zone" { "Zone, for a close view" }
            select #photo-zone name="zone" {
                option value="" selected[t.zone.is_none()] { "none" }
                @for (word, label) in &t.zones { option value=(word) selected[t.zone.as_ref() == Some(word)] { (label) } }
            }
            div #camera hidden {
                div.stage {
                    video #view playsinline muted aria-label="What the camera sees" {}
                    img #ghost alt="" hidden;
                }
                p.help #ghost-help hidden { "The last picture of this pose lies over the camera: bring the dog into it." }
                label.ghost-by { "The last picture shines through"
                    input #ghost-by type="range" min="0" max="100" value="35";
                }
                button.main type="button" #shoot { "Take the picture" }
                img #shot alt="The picture just taken" hidden;
            }
            button type="button" #camera-on hidden { "Use the camera here, with the last picture over it" }
            p role="status" #camera-says {}
            label for="file" { "Or choose a picture (JPEG, PNG or WebP, at most 20 MiB)" }
            input #file type="file" name="picture" accept="image/jpeg,image/png,image/webp" required;
            label for="photo-note" { "Note (may stay empty)" }
            input #photo-note name="note" maxlength="300";
            button.main { "Keep the picture" }
        }
        p.help { "The place and all else that the camera wrote into the picture is taken out before it is kept." }
        @for (pose, at) in &t.ghosts { span hidden data-ghost=(pose) data-at=(at) {} }
    }
}

/// All pictures of a dog.
pub(crate) fn list(dog: &str, name: &str, photos: &[PhotoView]) -> Markup {
    html! {
        h1 { "Pictures of " (name) }
        p { a.button href=(format!("/dogs/{dog}/photos/new")) { "Take a picture" } }
        @if photos.is_empty() { p { "There is none yet." } }
        @if photos.len() > 1 {
            form method="get" action=(format!("/dogs/{dog}/photos/two")) {
                p { "Choose two and look at them together." }
                ul.photos {
                    @for p in photos {
                        li {
                            a href=(p.at()) { img src=(p.small()) alt=(p.says()) loading="lazy"; }
                            label { input type="checkbox" name="id" value=(p.id); " " (p.says()) }
                            @if !p.note.is_empty() { p { (p.note) } }
                        }
                    }
                }
                button { "Look at two together" }
            }
        } @else {
            ul.photos {
                @for p in photos {
                    li { a href=(p.at()) { img src=(p.small()) alt=(p.says()); } p { (p.says()) } @if !p.note.is_empty() { p { (p.note) } } }
                }
            }
        }
    }
}

/// Two pictures on each other; a slider moves the edge between them. Without script they stand side by side.
pub(crate) fn two(dog: &str, name: &str, before: &PhotoView, after: &PhotoView) -> Markup {
    html! {
        p { a href=(format!("/dogs/{dog}/photos")) { "‹ All pictures" } }
        h1 { (name) ", " (before.day) " and " (after.day) }
        @if before.pose != after.pose { p.notice { "These are of two poses: " (before.says()) " and " (after.says()) "." } }
        div.two data-two {
            figure.after { img src=(after.at()) alt=(after.says()) width=(after.size.0) height=(after.size.1); figcaption { (after.says()) } }
            figure.before { img src=(before.at()) alt=(before.says()) width=(before.size.0) height=(before.size.1); figcaption { (before.says()) } }
        }
        label.two-by hidden { "The edge between " (before.day) " and " (after.day)
            input type="range" min="0" max="100" value="50" step="1";
        }
    }
}
