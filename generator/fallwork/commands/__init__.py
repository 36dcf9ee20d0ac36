"""What the commands do, one module each; ``cli.py`` says how they are called.

Each takes paths and options that the command line has read and gives text to print. They import
what they need themselves, so that a command pays only for its own stages.
"""
