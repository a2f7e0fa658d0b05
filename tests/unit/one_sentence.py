"""What bad input on the command line is answered with."""

from sim.cli import main


def fault(capsys, *arguments):
    """The one sentence that bad input is answered with."""
    assert main(list(arguments)) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.count("\n") == 1
    assert said.err.startswith("rampwalk: ")
    assert said.err.rstrip().endswith((".", "?"))
    assert "Traceback" not in said.err
    return said.err
