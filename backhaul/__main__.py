from backhaul.cli import main

main()
