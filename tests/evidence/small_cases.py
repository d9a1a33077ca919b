"""The text of a small case, put together of what a test is about."""

HEAD = 'title = "t"\nsupply = {}\n'


def load(name="Lamp", connect="L1-N", power=60.0, kind="lamp", more=""):
    return f'[[load]]\nname = "{name}"\nkind = "{kind}"\nconnect = "{connect}"\npower = {power}\n{more}'


def read(between="L1-N", volts=300.0, sigma=4.0, more=""):
    return f'[[observation]]\nbetween = "{between}"\nvoltage = {volts}\nuncertainty = {sigma}\n{more}'
