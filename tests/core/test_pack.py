from buildlog.core.pack import Pack, PackedTable


def test_a_pack_is_named_by_its_build_wherever_the_column_stands():
    tables = {"build": PackedTable(("name", "code"), (("Shed 9", "SHED"),)), "person": PackedTable(("name",), ())}
    assert Pack(tables).code == "SHED"
    assert Pack(tables) == Pack(dict(reversed(tables.items())))
