"""What people look at: the map. The only home of folium."""
