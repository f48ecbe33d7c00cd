"""What a study hands back: answers in a sentence, with number, interval, sureness and what they cannot say."""
