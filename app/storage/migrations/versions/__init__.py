"""One file for each change of layout. A file that was released is never edited."""
