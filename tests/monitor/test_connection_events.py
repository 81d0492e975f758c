"""What a desk reads in the events of its sockets is what pyzmq itself reads there."""

import zmq
from hypothesis import given
from hypothesis import strategies as st
from zmq.utils.monitor import parse_monitor_message

from monitor.desk.socket_watch import EVENT

#: `parse_monitor_message` of pyzmq makes an `Event` of both numbers, and takes the first for a signed one.
EVENTS = st.sampled_from([int(event) for event in zmq.Event if int(event) < 1 << 15])


@given(EVENTS, st.integers(0, (1 << 31) - 1))
def test_that_an_event_is_read_as_the_library_reads_it(event: int, value: int) -> None:
    said = EVENT.pack(event, value)
    theirs = parse_monitor_message([said, b"tcp://127.0.0.1:1"])
    assert EVENT.unpack(said) == (int(theirs["event"]), int(theirs["value"]))


def test_that_an_event_of_a_real_socket_is_read() -> None:
    context: zmq.Context[zmq.Socket[bytes]] = zmq.Context()
    socket = context.socket(zmq.PUB)
    socket.linger = 0
    events = socket.get_monitor_socket(zmq.EVENT_LISTENING)
    socket.bind("tcp://127.0.0.1:*")
    said, where = events.recv_multipart()
    assert EVENT.unpack(said)[0] == zmq.EVENT_LISTENING
    assert where.startswith(b"tcp://")
    socket.disable_monitor()
    events.close(0)
    socket.close()
    context.term()
