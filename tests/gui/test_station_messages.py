"""The station's messages: each follows the state of its alarm, whoever dealt with it and where."""

from pytestqt.qtbot import QtBot

from levelbench.gui.station.messages import Messages
from levelbench.rig import Entry


def test_a_message_follows_its_alarm_whoever_dealt_with_it(qtbot: QtBot) -> None:
    messages = Messages()
    qtbot.addWidget(messages)

    def tell(time: float, state: float, who: str) -> None:
        messages.tell((Entry(time, "alarm", "low", state, who),))

    messages.tell((Entry(5.0, "event", "low", 1.0), Entry(5.0, "alarm", "low", 1.0, "process")))
    assert messages.list.item(0).text() == "▲ new  0:00:05  low alarm"
    tell(6.0, 0.0, "process")  # it goes, and needs nobody
    assert messages.list.item(0).text() == "✓ over  0:00:05  low alarm"
    tell(7.0, 6.0, "Bo")
    assert messages.list.item(0).text() == "·  0:00:07  low alarm shelved by Bo"
    messages.tell((Entry(8.0, "event", "low", 1.0),))  # on the shelf: nobody is called
    assert messages.list.new == 0
    tell(9.0, 1.0, "clock")
    assert messages.list.item(0).text() == "▲ new  0:00:09  low alarm unacknowledged: its time is over"
    assert messages.acknowledge.text() == "Acknowledge 1  F9"
