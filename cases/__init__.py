"""What is run and what comes out: load cases, studies, textbook cases, report, the command line."""
