"""The repertoire file. The only package that holds SQL."""
