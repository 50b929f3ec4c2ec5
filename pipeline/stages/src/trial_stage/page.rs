//! The printed sheet of a draw: one page, the lot large, the code to cut off.

use study::lock::{LockedTrial, Lot};

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

/// One page of HTML.
pub(super) fn page(trial: &LockedTrial, lots: &[&Lot]) -> String {
    let card = |lot: &&Lot| {
        let place = lot.position.as_deref().map_or_else(String::new, |position| {
            format!("<p>Place on the pit: <strong>{}</strong></p>", escaped(position))
        });
        format!(
            "<section><h2>{}</h2><p class=\"arm\">{}</p>{place}<p>{}, lot {}</p>\n\
             <p class=\"code\">For tasters: <strong>{}</strong></p></section>\n",
            escaped(&lot.cook),
            escaped(&lot.arm),
            escaped(&lot.block),
            lot.number,
            escaped(&lot.code)
        )
    };
    let cards: String = lots.iter().map(card).collect();
    format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>Lots: {id}</title>\n<style>\n\
         body {{ font: 12pt/1.4 Georgia, \"Times New Roman\", serif; max-width: 40rem; margin: 1rem auto; padding: 0 1rem; color: #222; background: #fff; }}\n\
         section {{ border: 2px solid #222; padding: .5rem 1rem; margin: 1rem 0; break-inside: avoid; }}\n\
         h1 {{ font-size: 16pt; }} h2 {{ font-size: 14pt; margin: 0; }}\n\
         .arm {{ font-size: 26pt; margin: .2rem 0; }}\n\
         .code {{ border-top: 1px dashed #222; padding-top: .4rem; }}\n\
         @media print {{ body {{ margin: 0; max-width: none; }} @page {{ margin: 12mm; }} }}\n\
         </style>\n</head>\n<body>\n<main>\n<h1>Lots of the trial {id}</h1>\n\
         <p>The lot stands whatever happens. If something else was done, do not change it here or in the sheet: write down what was done.</p>\n\
         {cards}<p>Tasters see the code alone. In the scores sheet the code stands for the cook.</p>\n\
         <p>A core temperature or a lot says nothing of whether food is fit to eat: follow your local food code.</p>\n\
         </main>\n</body>\n</html>\n",
        id = escaped(&trial.id)
    )
}
