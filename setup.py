"""The one thing that pyproject.toml cannot say: the catalogues travel inside the package."""

from setuptools import find_namespace_packages, setup

setup(
    packages=[*find_namespace_packages(include=["backhaul", "backhaul.*"]), "backhaul._catalogs"],
    package_dir={"backhaul._catalogs": "catalogs"},
    package_data={"backhaul._catalogs": ["*.csv", "README.md"]},
)
