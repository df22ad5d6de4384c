"""What a folder of results holds when the workflow's own target is done."""

RESULTS = (
    "inputs.yaml",
    "section.svg",
    "mesh.msh",
    "answer.npz",
    "flaws.npz",
    "buckling.npz",
    "bondline.csv",
    "bondline.parquet",
    "ladder.csv",
    "summary.json",
    "finer.npz",
    "fields.vtu",
    "figures",
    "process.json",
    "process.csv",
    "process.npz",
    "report.html",
    "bond_sheet.html",
    "versions.json",
)
