document.getElementById("work").textContent = "";
