"""What a mold maker sees when turning a pattern in the hands: pull, undercuts, necks, trapped air, walls."""
