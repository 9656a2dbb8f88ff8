"""What leaves the photographer's hands: sheets in words, calendar, print, codes and links."""
