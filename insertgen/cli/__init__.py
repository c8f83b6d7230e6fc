"""Commands: one file each. Options, help, exit codes; data on stdout, talk on stderr."""
