/* The recording page starts here. */
import { begin } from "./opening.js";

begin();
