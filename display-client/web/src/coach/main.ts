import "../shared/theme.css";
