"""The visitors' page server: reads recordings and answers pages."""
