"""python -m app"""

from app.cli.commands import main

if __name__ == "__main__":
    main()
