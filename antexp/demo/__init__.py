"""An invented comparison from plan to report, with the truth beside the judgement."""
