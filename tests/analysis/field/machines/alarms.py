"""Alarms of a machine's terminal: a rule over the last few drops, a delay in seconds, a pause after each."""
from collections import deque


class Alarm:
    """`most` silent among the last `window` drops of a row; comes `late_s` later and not again for `pause_s`."""

    def __init__(self, draw):
        self.most, self.window = draw.choice([(1, 1), (2, 2), (3, 3), (3, 8), (4, 12), (6, 20), (9, 30)])
        self.late_s, self.pause_s = draw.choice([0.0, 0.0, 0.5, draw.uniform(0.5, 4.0)]), draw.choice([0.0, 3.0, 10.0])
        self.carries = draw.random() < 0.5   # what is late at the pass's end stands at the next one's beginning

    def of_row(self, lines):
        """From lines [(time, silent, place)] of one row to [(place at which it stands, places that set it off)]."""
        found, waiting, quiet_until = [], deque(), -1e9
        for line in lines:
            last, armed = deque(maxlen=self.window), True
            for time, silent, place in line:
                while waiting and waiting[0][0] <= time:
                    found.append((place, waiting.popleft()[1]))
                last.append((silent, place))
                inside = [where for one, where in last if one]
                if len(inside) >= self.most and armed and time >= quiet_until:
                    armed, quiet_until = False, time + self.pause_s
                    if self.late_s:
                        waiting.append((time + self.late_s, inside))
                    else:
                        found.append((place, inside))
                if len(inside) < self.most or (self.pause_s and time >= quiet_until and silent):
                    armed = True
            if not self.carries:
                waiting.clear()
        return found
