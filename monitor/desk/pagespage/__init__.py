"""The page of pages out and telephones (key P). Start at `monitor.desk.pagespage.page.PagesPage`."""
