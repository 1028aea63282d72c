"""The jobs behind the commands: photos in, results out."""
