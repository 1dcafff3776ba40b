"""The repertoire as a collection: adding, importing, exporting, searching, twins, sets."""
