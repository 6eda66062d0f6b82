"""Conditions over the inputs of a controller, and all its states, for logic_states.py.

Written apart from the Rust tool on purpose. A condition is worked out in every state at once: one column an input, one
row a state, and `and`, `or`, `not` are those of whole columns.
"""

import math
import re

import numpy as np

MOST_STATES = 1 << 23  # more would not fit in memory


class Condition:
    """Recursive descent: `not` binds closest, then `and`, then `or`. Every step gives the states in which it holds."""

    def __init__(self, text, positions, columns, size):
        self.text, self.positions, self.columns, self.size = text, positions, columns, size
        self.tokens = re.findall(r"==|!=|[()\[\],]|[\w.-]+", text)
        if "".join(self.tokens) != "".join(text.split()):
            raise ValueError(f"not a condition: {text}")

    def holds(self):
        result = self.any_of()
        if self.tokens:
            raise ValueError(f"`{self.tokens[0]}` is too much in: {self.text}")
        return result

    def take(self, *wanted):
        return self.tokens.pop(0) if self.tokens and self.tokens[0] in wanted else None

    def need(self, wanted=None):
        if not self.tokens or (wanted and self.tokens[0] != wanted):
            raise ValueError(f"expected {wanted or 'a name'} in: {self.text}")
        return self.tokens.pop(0)

    def any_of(self):
        result = self.all_of()
        while self.take("or"):
            result = result | self.all_of()
        return result

    def all_of(self):
        result = self.negated()
        while self.take("and"):
            result = result & self.negated()
        return result

    def negated(self):
        return ~self.negated() if self.take("not") else self.single()

    def single(self):
        if self.take("("):
            result = self.any_of()
            self.need(")")
            return result
        name = self.need()
        if name == "always":
            return np.ones(self.size, bool)
        if name not in self.positions:
            raise ValueError(f"no input `{name}`: {self.text}")
        sign = self.take("==", "!=", "in")
        if sign == "in":
            self.need("[")
            result = self.at(name, self.need())
            while self.take(","):
                result = result | self.at(name, self.need())
            self.need("]")
            return result
        if sign is None and self.positions[name] != ["off", "on"]:
            raise ValueError(f"`{name}` is no bool: {self.text}")
        result = self.at(name, self.need() if sign else "on")
        return ~result if sign == "!=" else result

    def at(self, name, position):
        return self.columns[name] == self.positions[name].index(position)


def positions_of(declared):
    if isinstance(declared, list):
        return declared
    return declared["positions"] if isinstance(declared, dict) and "positions" in declared else ["off", "on"]


class States:
    """Every allowed state: `columns` has the number of each input's position, `number` that of the whole assignment."""

    def __init__(self, package):
        raw = package.raw
        self.package, self.modes, self.inputs, self.known = package, raw["mode"], raw.get("inputs"), {}
        self.positions = {name: positions_of(declared) for name, declared in (self.inputs or {}).items()}
        self.columns, self.stride, stride = {}, {}, math.prod(len(words) for words in self.positions.values())
        if stride > MOST_STATES:
            raise ValueError(f"{stride} assignments are too many to try them all")
        self.size = len(self.modes) if self.inputs is None else stride
        self.total, every = self.size, np.arange(self.size)
        for name, words in self.positions.items():
            stride //= len(words)
            self.stride[name], self.columns[name] = stride, (every // stride % len(words)).astype(np.int8)
        never = raw.get("never", [])
        allowed = np.ones(self.size, bool)
        for text in [never] if isinstance(never, str) else never:
            allowed &= ~self.holds(text)
        self.number = np.flatnonzero(allowed)
        self.columns = {name: column[allowed] for name, column in self.columns.items()}
        self.size, self.known = len(self.number), {}

    def holds(self, text):
        if text not in self.known:
            if self.inputs is None:  # a name that modes list in `given`
                self.known[text] = np.array([text in mode.get("given", []) for mode in self.modes])
            else:
                self.known[text] = Condition(text, self.positions, self.columns, self.size).holds()
            self.known[text].flags.writeable = False  # it is handed out again
        return self.known[text]

    def matching(self, mode):
        return self.holds(mode["when"]) if self.inputs is not None else np.array([m is mode for m in self.modes])

    def judged(self, mode):
        return self.matching(mode) & self.holds(mode["assume"]) if "assume" in mode else self.matching(mode)

    def serving(self, purpose):
        return self.any_of(self.judged(mode) for mode in self.modes if mode.get("purpose") == purpose)

    def any_of(self, columns):
        return np.logical_or.reduce([np.zeros(self.size, bool), *columns])

    def steps(self):
        """Displays in the order in which they lie over one another, each with the states in which it is active."""
        if self.inputs is not None:
            return [(display, self.holds(display["when"])) for display in self.package.raw["display"]]
        return [(self.package.displays[name], self.matching(mode)) for mode in self.modes for name in mode["displays"]]

    def completions(self, assignment, mode):
        result = np.ones(self.size, bool) if self.inputs is not None else self.matching(mode)
        for name, position in assignment.items():
            result = result & (self.columns[name] == self.positions[name].index(position))
        return result
