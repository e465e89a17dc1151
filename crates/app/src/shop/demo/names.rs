//! Names of the demonstration shop: all invented. Any likeness is chance.

/// Dogs.
pub(super) const DOGS: [&str; 60] = [
    "Bramble", "Sorrel", "Thistle", "Juniper", "Tansy", "Burr", "Fennel", "Pip", "Moss", "Quill", "Rust", "Teasel",
    "Bracken", "Sedge", "Heather", "Larch", "Alder", "Hazel", "Rowan", "Nettle", "Clover", "Dock", "Yarrow", "Comfrey",
    "Poppy", "Barley", "Oat", "Rye", "Millet", "Tinder", "Flint", "Slate", "Cobble", "Pebble", "Shale", "Marl",
    "Biscuit", "Crumb", "Toffee", "Ginger", "Pepper", "Mustard", "Caper", "Clove", "Nutmeg", "Saffron", "Sage",
    "Chive", "Dill", "Basil", "Button", "Thimble", "Bobbin", "Tuft", "Wisp", "Whistle", "Fiddle", "Bugle", "Drum",
    "Kettle",
];

/// Owners' first names.
pub(super) const FIRST: [&str; 16] = [
    "Alma", "Bruno", "Zoë", "Dafydd", "Edda", "Félix", "Greta", "Hamish", "Inès", "Jonas", "Keir", "Lotte", "Maeve",
    "Nils", "Orla", "Siân",
];

/// Owners' surnames.
pub(super) const LAST: [&str; 17] = [
    "Ashmarl",
    "Birkthwaite",
    "Cragholm",
    "Dunnock-Hay",
    "Elmsett-Rew",
    "Fallowby",
    "Gorsewell",
    "Hollinbeck",
    "Inglethorn",
    "Jessamyne",
    "Kestrelby",
    "Løvdahl-Reed",
    "Mossgarth",
    "Netherwyke",
    "O’Tarn",
    "Pennymoor",
    "Quernstone",
];

/// Breeds as written, with the coat and a usual mass in kg.
pub(super) const BREEDS: [(&str, &str, f64); 12] = [
    ("border terrier", "wire", 6.5),
    ("wire fox terrier", "wire", 8.0),
    ("lakeland terrier", "wire", 7.5),
    ("Irish terrier", "pin wire", 12.0),
    ("miniature schnauzer", "long wire", 7.0),
    ("airedale terrier", "long wire", 24.0),
    ("wire-haired dachshund", "pin wire", 9.0),
    ("Welsh terrier", "wire", 9.0),
    ("Norfolk terrier", "wire", 5.5),
    ("standard schnauzer", "long wire", 17.0),
    ("terrier cross", "soft wire", 9.5),
    ("cairn terrier", "soft wire", 6.5),
];
