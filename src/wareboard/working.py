"""Lines of working that a result carries, so that it can show how it was reached."""

from __future__ import annotations

import ast
import math
import operator
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

FUNCTIONS: dict[str, Callable[..., float]] = {
    "sqrt": math.sqrt,
    "exp": math.exp,
    "log": math.log,
    "sin": math.sin,
    "cos": math.cos,
    "ceil": math.ceil,
    "floor": math.floor,
    "round": round,
    "abs": abs,
    "min": min,
    "max": max,
}
CONSTANTS = {"pi": math.pi}
OPERATORS: dict[type[ast.AST], Callable[..., float]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
    ast.USub: operator.neg,
    ast.UAdd: operator.pos,
}
MINUS = "\N{MINUS SIGN}"


@dataclass(frozen=True, slots=True)
class Estimate:
    """A number that is not known exactly: the best value, and the range that holds it nine times in ten."""

    value: float
    low: float
    high: float
    source: str


@dataclass(frozen=True, slots=True)
class Step:
    """One line of working: what came out, by which formula, from what, on whose word.

    ``formula`` is arithmetic over the names in ``inputs`` (see `worked_out`), or empty where a search, a simulation or a
    table gave the value; then ``how`` says in words what did. ``low`` and ``high`` hold nine in ten where the value is an
    estimate. ``source`` is a key of ``reference/sources.toml``, or words such as ``common practice``, ``from memory``,
    ``default``, ``given in the brief``, ``own records``.
    """

    name: str
    formula: str
    inputs: Mapping[str, float]
    value: float
    source: str
    unit: str = ""
    low: float | None = None
    high: float | None = None
    how: str = ""
    key: str = field(default="")

    def __str__(self) -> str:
        given = ", ".join(f"{key} = {number:g}" for key, number in self.inputs.items())
        reached = self.formula or self.how
        spread = f" ({self.low:.6g} to {self.high:.6g})" if self.low is not None and self.high is not None else ""
        unit = f" {self.unit}" if self.unit else ""
        return f"{self.name} = {reached} = {self.value:.6g}{unit}{spread}  [{given}; {self.source}]"


def worked_out(formula: str, inputs: Mapping[str, float]) -> float:
    """The value of ``formula`` with the names in ``inputs`` put in.

    Plain arithmetic (+ - * / **), the functions in `FUNCTIONS` and the constant pi; nothing else is evaluated.

    Raises:
        ValueError: if the formula holds anything else, or a name that ``inputs`` lacks.
    """

    def reckon(node: ast.AST) -> float:
        match node:
            case ast.Expression(body=body):
                return reckon(body)
            case ast.Constant(value=int() | float() as number):
                return float(number)
            case ast.Name(id=name) if name in inputs:
                return float(inputs[name])
            case ast.Name(id=name) if name in CONSTANTS:
                return CONSTANTS[name]
            case ast.BinOp(left=left, op=op, right=right) if type(op) in OPERATORS:
                return OPERATORS[type(op)](reckon(left), reckon(right))
            case ast.UnaryOp(op=op, operand=operand) if type(op) in OPERATORS:
                return OPERATORS[type(op)](reckon(operand))
            case ast.Call(func=ast.Name(id=name), args=args, keywords=[]) if name in FUNCTIONS:
                return float(FUNCTIONS[name](*(reckon(arg) for arg in args)))
        raise ValueError(f"{ast.unparse(node)!r} in {formula!r} is not plain arithmetic over {sorted(inputs)}")

    return reckon(ast.parse(formula, mode="eval"))


INNER = r"((?:[^()]|\((?:[^()]|\([^()]*\))*\))*)"  # up to two pairs of brackets within the pair
AS_PEOPLE_WRITE: tuple[tuple[re.Pattern[str], str], ...] = (
    # What keeps a float on the right side of a whole number says nothing to a person.
    (re.compile(r" [+-] (?:1e-0?9|0\.0{5,}1)(?![\d.])"), ""),
    (re.compile(rf"\bfloor\({INNER} \+ 0\.5\)"), r"rounded (\1)"),
    (re.compile(r"\bround\("), "rounded ("),
    (re.compile(r"\bceil\("), "rounded up ("),
    (re.compile(r"\bfloor\("), "rounded down ("),
    (re.compile(r"\bmax\("), "larger of ("),
    (re.compile(r"\bmin\("), "smaller of ("),
    (re.compile(r"\bsqrt\("), "√("),
    (re.compile(r"\blog\("), "ln("),
    (re.compile(r"\bpi\b"), "π"),
    (re.compile(r" ?\*\* ?"), "^"),
    (re.compile(r"\*"), "×"),
    (re.compile(r" - "), " − "),
)
SUBSCRIPT = str.maketrans("0123456789", "₀₁₂₃₄₅₆₇₈₉")
SUPERSCRIPT = str.maketrans("23", "²³")
AREA_OR_VOLUME = re.compile(r"(?<![^\W_])((?:c|m)m)([23])(?![^\W_])")


def as_people_write(formula: str) -> str:
    """A formula with the signs and words that people write in place of a computer's: ×, ^, π, "rounded up"."""
    for sign, words in AS_PEOPLE_WRITE:
        formula = sign.sub(words, formula)
    return with_powers(formula)


def with_small_figures(oxide: str) -> str:
    """A chemical formula as it is printed: SiO2 as SiO₂."""
    return oxide.translate(SUBSCRIPT)


def with_powers(unit: str) -> str:
    """Units of area and volume with their small figures: mm3 as mm³."""
    return AREA_OR_VOLUME.sub(lambda found: found[1] + found[2].translate(SUPERSCRIPT), unit)


def per_cent(share: float, places: int = 0) -> str:
    """A share as it is printed, "12 %": to so many places, with a space before the sign."""
    return f"{100.0 * share:.{places}f} %"


def signed(value: float, places: int = 0) -> str:
    """A difference with its sign, +3 or −3, a true minus and no hyphen."""
    return f"{value:+.{places}f}".replace("-", MINUS)


def in_a_row(words: Sequence[str]) -> str:
    """Words one after the other, "handle, lip and spout"; nothing of none."""
    return " and ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else "".join(words)
