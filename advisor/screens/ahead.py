"""What is to be expected before a batch is made, as headed blocks: one formula, or several side by side."""

from __future__ import annotations

from collections.abc import Sequence

from advisor.forecast import Forecast, Texture
from advisor.knowledge.load import Knowledge
from advisor.quantities.windows import Window
from advisor.screens.lines import Block, weight_line

_SAY = {"go": "Go.", "care": "Go with care.", "no": "Do not make it like this."}
_TONE = {"go": "use", "care": "unsure", "no": "discard"}
_RUNGS = 7


def forecast_blocks(found: Forecast, knowledge: Knowledge) -> list[Block]:
    """Go, go with care or don't; the texture and its course; the risks in order with what would show them; fixes; windows."""
    blocks = [Block("Before you make it", (_SAY[found.go], *_type_lines(found), *_unread(found)), _TONE[found.go])]
    if found.texture:
        t = found.texture
        blocks.append(Block("Texture, if it holds", (
            f"About {t.rung.title} ({t.rung.rank} of {_RUNGS}), {t.rung.suits}.",
            f"Roughly {_rough(t.low)} to {_rough(t.high)} mPa.s at 23 C: a coarse estimate, give or take a rung.",
            *(f"- {name}: {share:.0%} of the body" for name, share in t.shares[:4]))))
        blocks.append(Block("How it goes", tuple(f"- {s.name} ({s.at:.0f} C): {s.rung.title}" for s in t.course)))
    for r in found.risks[:4]:
        shows = [f"{title[0].lower()}{title[1:]}" for x in r.cause.explains[:3] if x.symptom in knowledge.symptoms and (title := knowledge.symptoms[x.symptom].title)]
        blocks.append(Block(f"Risk ({'possible, not shown yet' if r.standing == 'possible' else r.standing}): {r.cause.title}",
                            (*(f"- {x.says}" for x in r.reasons[:3]), *((f"What would show it: {'; '.join(shows)}.",) if shows else ())), "cause"))
    for number, fix in enumerate(found.outcome.fixes[:3], 1):
        blocks.append(Block(f"Fix {number}: {fix.title}", tuple(weight_line(c, found.outcome.examination.situation.batch.in_ounces) for c in fix.changes), "fix"))
    if found.creaming:
        c = found.creaming
        blocks.append(Block("Rising of the drops", (
            f"Between {float(f'{c.slow:.1g}'):,g} and {float(f'{c.fast:.1g}'):,g} mm a day for drops of {c.smallest:g} to {c.largest:g} micrometres: an order of magnitude only; nothing in it holds them still.",)))
    if found.windows:
        blocks.append(Block("While making it", tuple(f"- {window_line(w)}" for w in found.windows)))
    if found.outcome.cautions:
        blocks.append(Block("Cautions", found.outcome.cautions, "caution"))
    return blocks


def comparison_blocks(found: Sequence[Forecast], knowledge: Knowledge, drawing: bool) -> list[Block]:
    """The textures one under the other, then every formula with how it holds, its feel and its pH window."""
    marks = [f"{n}. " for n in range(1, len(found) + 1)]
    blocks = [Block("Texture, thin to stiff", tuple(f"{m}{texture_line(f.texture, drawing)}" for m, f in zip(marks, found, strict=True)))]
    for mark, f in zip(marks, found, strict=True):
        risk = next(iter(f.risks), None)
        ph = next((w for w in f.windows if w.id == "ph"), None)
        body = ", ".join(f"{name} {share:.0%}" for name, share in f.texture.shares[:3]) if f.texture else ""
        blocks.append(Block(f"{mark}{f.name}", tuple(line for line in (
            f"Hold: {_SAY[f.go]}" + (f" First risk: {risk.cause.title[0].lower()}{risk.cause.title[1:]} ({risk.standing})." if risk else ""),
            *_type_lines(f), *_unread(f),
            f"Feel: {', '.join(f.feel)}." if f.feel else "",
            f"pH: {_range(ph)}, by {' and '.join(ph.origin)}." if ph else "pH: nothing known sets it.",
            f"Body from: {body}." if body else "") if line), _TONE[f.go]))
    return blocks


def texture_line(texture: Texture | None, drawing: bool) -> str:
    """A bar of seven that reads without colour, the rung in words, and the estimate."""
    if texture is None:
        return "not known: give all lines with amounts"
    rank = texture.rung.rank
    bar = f"[{'#' * rank}{'.' * (_RUNGS - rank)}] " if drawing else ""
    return f"{bar}{rank} of {_RUNGS}, {texture.rung.title}, about {float(f'{texture.mid:.2g}'):,.0f} mPa.s"


def window_line(window: Window) -> str:
    """One window in words, with the lines that set it."""
    unit = f" {window.unit}" if window.unit else ""
    text = window.title
    if window.low is not None and window.high is not None:
        text += f": {window.low:g} to {window.high:g}{unit}" if not window.clash else f": at least {window.low:g}{unit} is wanted, yet no more than {window.high:g}{unit}"
    elif window.low is not None:
        text += f" {window.low:g}{unit}" if window.title.endswith("above") else f": {window.low:g}{unit} or more"
    elif window.high is not None:
        text += f" {window.high:g}{unit}" if window.title.endswith("below") else f": {window.high:g}{unit} or less"
    return f"{text} ({', '.join(window.origin)})"


def _range(window: Window) -> str:
    if window.clash:
        return f"no common range (one wants {window.low:g} or more, another {window.high:g} or less)"
    if window.low is not None and window.high is not None:
        return f"{window.low:g} to {window.high:g}"
    return f"{window.low:g} or more" if window.low is not None else f"{window.high:g} or less"


def _type_lines(found: Forecast) -> tuple[str, ...]:
    if found.forms and found.forms != found.kind:
        return (f"Its emulsifiers make {found.forms}, not {found.kind}.",)
    return (f"To be expected: {found.kind}.",) if found.kind else ()


def _unread(found: Forecast) -> tuple[str, ...]:
    return (f"Not known here, so not reckoned with: {', '.join(found.unread)}. Look for the INCI name on the label.{'' if found.texture else ' How thick it will be cannot be told without it.'}",) if found.unread else ()


def _rough(value: float) -> str:
    """Two digits: the estimate knows no more."""
    return f"{float(f'{value:.2g}'):,.0f}"
