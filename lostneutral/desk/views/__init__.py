"""What the desk shows, in the browser framework's terms; nothing here knows physics or the case file's form."""
