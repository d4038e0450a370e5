"""Small parts that pages share: wrapped text, cards, choices, the drawn state of a budget, the steps rail."""
