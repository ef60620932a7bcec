"""The published methods that a judgement rests on, as the report and the methods paragraph name them."""

from __future__ import annotations

from antexp.analysis.result import Judgement

SOURCES: dict[str, str] = {
    "restricted likelihood": "H. D. Patterson and R. Thompson, Biometrika 58 (1971) 545, doi:10.1093/biomet/58.3.545",
    "model": "M. G. Kenward and J. H. Roger, Biometrics 53 (1997) 983, doi:10.2307/2533558",
    "reference": "T. Hothorn, F. Bretz and P. Westfall, Biom. J. 50 (2008) 346, doi:10.1002/bimj.200810425",
    "best": "J. C. Hsu, Ann. Stat. 12 (1984) 1136, doi:10.1214/aos/1176346732",
    "too small": "D. J. Schuirmann, J. Pharmacokinet. Biopharm. 15 (1987) 657, doi:10.1007/BF01068419",
    "two hangings": "ISO 5725-6:1994, Accuracy of measurement methods and results, part 6",
}


def how_it_was_done(judgement: Judgement) -> list[str]:
    """Return the method in plain words, each sentence with the number of its source in `sources_of`."""
    numbers = {key: i for i, key in enumerate(sources_of(judgement), 1)}
    limits = f"[{numbers['best']}, {numbers['reference']}]" if judgement.compare == "best" else (
        f"[{numbers['reference']}]")
    said = [
        "Every hanging of a wire is a swap. Its readings repeat the meter; only its hangings repeat the experiment. So "
        "the swap is what is counted, and the scatter between hangings decides how wide the limits are.",
        "The reference was hung again and again. It ties the blocks together and shows the drift, which is fitted "
        f"inside each block ({_DRIFT[judgement.drift.form]}) together with the gaps.",
        f"Scatter and gaps come from one fit to all readings [{numbers['restricted likelihood']}], with limits widened "
        f"for the small number of swaps [{numbers['model']}] and for asking about several gaps at once {limits}.",
    ]
    if judgement.matter_db is not None:
        said.append("A gap is called real when its limits leave out zero, and too small to matter when they lie within "
                    f"± {judgement.matter_db:g} dB [{numbers['too small']}]; else nothing is claimed.")
    if "two hangings" in numbers:
        said.append("What two single hangings of one wire differ by, in 95 of 100 cases, follows from the scatter "
                    f"[{numbers['two hangings']}].")
    return said


def sources_of(judgement: Judgement) -> dict[str, str]:
    """Return the sources that a judgement rests on, in the order in which the page cites them."""
    keys = ["restricted likelihood", "model", *(["best"] if judgement.compare == "best" else []), "reference"]
    keys += ["too small"] if judgement.matter_db is not None else []
    keys += ["two hangings"] if judgement.spread.repeatability_limit_db is not None else []
    return {key: SOURCES[key] for key in keys}


_DRIFT = {
    "none": "none was allowed for",
    "steady": "a straight line in each",
    "curved": "a parabola in each",
    "wandering": "a path that wanders",
}
