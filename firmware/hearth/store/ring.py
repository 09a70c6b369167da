"""The ring in RAM: records wait here, in order, until the host has them on its disk."""


class Ring:
    """Whole records of one boot by sequence, in one buffer made once.

    When it is full the oldest record goes; `first` then passes it, which tells the host of the gap.
    """

    def __init__(self, size):
        self._buffer = bytearray(size)
        self._size = size
        self._tail = 0  # offset of the oldest record
        self.used = 0  # bytes
        self.first = 0  # sequence of the oldest record
        self.next = 0  # sequence the next record will bear
        self.cursor = 0  # sequence of the next record to send
        self._at = 0  # its offset
        self.lost = 0  # records that went before they were kept

    def percent(self):
        """How full the ring is, 0..100."""
        return self.used * 100 // self._size

    def append(self, record):
        """Take a record's bytes as number `next`."""
        length = len(record)
        if length + 2 > self._size:
            raise ValueError("record larger than the ring")
        while self._size - self.used < length + 2:
            self._drop()
            self.lost += 1
        at = (self._tail + self.used) % self._size
        at = self._put(at, bytes((length & 255, length >> 8)))
        self._put(at, record)
        self.used += length + 2
        self.next += 1

    def keep(self, sequence):
        """The host has everything up to and including `sequence`."""
        while self.first <= sequence and self.first < self.next:
            self._drop()

    def rewind(self, sequence):
        """Send again from `sequence`, or from the oldest record that is left."""
        self.cursor = self.first
        self._at = self._tail
        while self.cursor < sequence and self.cursor < self.next:
            self._at = (self._at + self._length(self._at) + 2) % self._size
            self.cursor += 1

    def take(self):
        """The next record to send, or None; moves the cursor on."""
        if self.cursor >= self.next:
            return None
        length = self._length(self._at)
        start = (self._at + 2) % self._size
        end = start + length
        if end <= self._size:
            record = bytes(self._buffer[start:end])
        else:
            record = bytes(self._buffer[start:]) + bytes(self._buffer[: end - self._size])
        self._at = end % self._size
        self.cursor += 1
        return record

    def _length(self, at):
        return self._buffer[at] | self._buffer[(at + 1) % self._size] << 8

    def _drop(self):
        size = self._length(self._tail) + 2
        self._tail = (self._tail + size) % self._size
        self.used -= size
        self.first += 1
        if self.cursor < self.first:
            self.cursor = self.first
            self._at = self._tail

    def _put(self, at, data):
        room = self._size - at
        if len(data) <= room:
            self._buffer[at : at + len(data)] = data
        else:
            self._buffer[at:] = data[:room]
            self._buffer[: len(data) - room] = data[room:]
        return (at + len(data)) % self._size
