"""What every printed page needs: the PDF library, loaded late, and the face it is set in."""
