"""Golden files: what this program answers, kept, so that a rebuild can be compared with it.

    python -m tests.golden write FOLDER             what the code here answers
    python -m tests.golden compare FOLDER           the code here against files written before; exit 1 if any differs
    python -m tests.golden compare FOLDER OTHER     two folders of files

`--root CHECKOUT` runs the code of another checkout. Only the command line, addresses and file names are leaned on, so
that modules may move. Everything runs on databases that are thrown away, at one fixed moment. Packs among the files of
before are taken in by the code now: their tables, answers, labels and screens are compared too. Ids and
labels of a new build are drawn by chance, so a second folder to be compared is written with `--packs` of the first.
"""
